// SPDX-License-Identifier: Apache-2.0
// glTF 2.0 (Khronos Group; ISO/IEC 12113:2022), binary form. The numbers in comments are sections.
//
// The JSON chunk is parsed by Protocol Buffers' own JSON reader, which is here already, bounds its
// depth and reports errors; the rest of the standard that a mesh needs is small.
#include <google/protobuf/struct.pb.h>
#include <google/protobuf/util/json_util.h>

#include <Eigen/Geometry>
#include <array>
#include <cmath>
#include <cstdio>
#include <optional>
#include <vector>

#include "mesh/byte_cursor.h"
#include "mesh/mesh_formats.h"

namespace holdshelf {
namespace {

using google::protobuf::ListValue;
using google::protobuf::Struct;
using google::protobuf::Value;

constexpr std::uint32_t kJsonChunk = 0x4E4F534A, kBinChunk = 0x004E4942;
// The parsed tree takes some fifty times the text; a mesh's description takes a few kilobytes.
constexpr std::size_t kLargestJson = 8 << 20;

[[noreturn]] void refuse(const std::string& name, const std::string& what) {
  throw BadInput(name + ": " + what + "; export the mesh again as a plain .glb.");
}

// --- JSON access: missing members give the standard's default, nonsense is refused. ---

const Value* member(const Struct& object, const char* key) {
  const auto found = object.fields().find(key);
  return found == object.fields().end() ? nullptr : &found->second;
}

const ListValue& listOf(const Struct& object, const char* key) {
  const Value* value = member(object, key);
  return value ? value->list_value() : ListValue::default_instance();
}

double numberOf(const Struct& object, const char* key, double fallback) {
  const Value* value = member(object, key);
  return value && value->has_number_value() ? value->number_value() : fallback;
}

/// A whole number from 0; `fallback` (may be -1) where absent.
std::int64_t indexOf(const Struct& object, const char* key, std::int64_t fallback,
                     const std::string& name) {
  const double number = numberOf(object, key, static_cast<double>(fallback));
  if (number == static_cast<double>(fallback)) return fallback;
  if (!(number >= 0 && number < 9e15) || number != std::floor(number))
    refuse(name, std::string("'") + key + "' is no whole number");
  return static_cast<std::int64_t>(number);
}

const Struct& elementOf(const ListValue& list, std::int64_t index, const std::string& name) {
  if (index < 0 || index >= list.values_size()) refuse(name, "it refers to a part that it lacks");
  return list.values(static_cast<int>(index)).struct_value();
}

// --- Accessors (3.6.2) ---

struct Accessor {
  std::string_view bytes;  ///< From the first element on.
  std::int64_t count = 0;
  int components = 1;
  int component_type =
      0;  ///< 5120 int8, 5121 uint8, 5122 int16, 5123 uint16, 5125 uint32, 5126 float.
  std::size_t stride = 0;
  bool normalised = false;

  double at(std::int64_t element, int component) const {
    const std::size_t offset = static_cast<std::size_t>(element) * stride;
    ByteCursor c(bytes.substr(offset), "");
    const auto skip = static_cast<std::size_t>(component);
    switch (component_type) {
      case 5120:
        c.take(skip);
        return scaled(c.read<std::int8_t>(), 127);
      case 5121:
        c.take(skip);
        return scaled(c.read<std::uint8_t>(), 255);
      case 5122:
        c.take(skip * 2);
        return scaled(c.read<std::int16_t>(), 32767);
      case 5123:
        c.take(skip * 2);
        return scaled(c.read<std::uint16_t>(), 65535);
      case 5125:
        c.take(skip * 4);
        return c.read<std::uint32_t>();
      default:
        c.take(skip * 4);
        return c.read<float>();
    }
  }

 private:
  double scaled(double raw, double largest) const {
    return normalised ? std::max(raw / largest, -1.0) : raw;
  }
};

int componentsOf(const std::string& type) {
  return type == "SCALAR" ? 1 : type == "VEC2" ? 2 : type == "VEC3" ? 3 : type == "VEC4" ? 4 : 0;
}

std::size_t componentBytes(int type) {
  switch (type) {
    case 5120:
    case 5121:
      return 1;
    case 5122:
    case 5123:
      return 2;
    case 5125:
    case 5126:
      return 4;
    default:
      return 0;
  }
}

struct Document {
  Struct json;
  std::string_view bin;
  std::string name;

  Accessor accessor(std::int64_t index) const {
    const Struct& a = elementOf(listOf(json, "accessors"), index, name);
    if (member(a, "sparse")) refuse(name, "it stores differences only (sparse accessors)");
    Accessor out;
    out.count = indexOf(a, "count", 0, name);
    const Value* type = member(a, "type");
    out.components = type ? componentsOf(type->string_value()) : 0;
    out.component_type =
        static_cast<int>(std::min<std::int64_t>(indexOf(a, "componentType", 0, name), 1 << 20));
    const Value* normalised = member(a, "normalized");
    out.normalised = normalised && normalised->bool_value();
    const std::size_t size =
        componentBytes(out.component_type) * static_cast<std::size_t>(out.components);
    if (size == 0) refuse(name, "it stores numbers in a way that is not in the standard");
    const Struct& view =
        elementOf(listOf(json, "bufferViews"), indexOf(a, "bufferView", -1, name), name);
    if (indexOf(view, "buffer", 0, name) != 0) refuse(name, "its data lie in another file");
    out.stride = static_cast<std::size_t>(
        indexOf(view, "byteStride", static_cast<std::int64_t>(size), name));
    // Each is below 9e15, so that the sums below can't wrap; the product is checked by division.
    const auto start = static_cast<std::size_t>(indexOf(view, "byteOffset", 0, name) +
                                                indexOf(a, "byteOffset", 0, name));
    if (out.stride < size) refuse(name, "its numbers overlap");
    if (out.count > 0 &&
        (start > bin.size() || bin.size() - start < size ||
         static_cast<std::size_t>(out.count - 1) > (bin.size() - start - size) / out.stride))
      refuse(name, "it promises " + std::to_string(out.count) + " numbers that aren't in it");
    out.bytes = bin.substr(std::min(start, bin.size()));
    return out;
  }
};

Document parseChunks(std::string_view bytes, const std::string& name) {
  Document document;
  document.name = name;
  ByteCursor file(bytes, name);
  if (file.take(std::min<std::size_t>(4, bytes.size())) != "glTF")
    refuse(name, "this is no GLB file");
  if (file.read<std::uint32_t>() != 2) refuse(name, "this is not version 2 of glTF");
  if (file.read<std::uint32_t>() > bytes.size())
    throw BadInput(name + " is shorter than its header says; it was cut off, export it again.");
  std::string_view json;
  while (file.left() >= 8) {
    const auto length = file.read<std::uint32_t>(), type = file.read<std::uint32_t>();
    const std::string_view data = file.take(length);
    if (type == kJsonChunk && json.empty()) json = data;
    if (type == kBinChunk && document.bin.empty()) document.bin = data;
  }
  if (json.size() > kLargestJson) refuse(name, "its description is larger than 8 MB");
  const auto status = google::protobuf::util::JsonStringToMessage(
      google::protobuf::StringPiece(json.data(), json.size()), &document.json);
  if (!status.ok()) refuse(name, "its description is no valid JSON");
  for (const Value& extension : listOf(document.json, "extensionsRequired").values())
    if (extension.string_value().rfind("KHR_materials_", 0) != 0 &&
        extension.string_value() != "KHR_texture_transform")
      refuse(name, "it needs the extension '" + extension.string_value().substr(0, 40) +
                       "', such as compressed data, which is not read");
  return document;
}

// --- Meshes ---

std::uint8_t srgbFromLinear(double linear) {
  const double c = std::clamp(linear, 0.0, 1.0);
  const double s =
      c <= 0.0031308 ? 12.92 * c : 1.055 * std::pow(c, 1 / 2.4) - 0.055;  // IEC 61966-2-1
  return static_cast<std::uint8_t>(std::lround(s * 255));
}

std::uint16_t linearFromSrgb(std::uint8_t srgb) {
  const double s = srgb / 255.0;
  const double c = s <= 0.04045 ? s / 12.92 : std::pow((s + 0.055) / 1.055, 2.4);
  return static_cast<std::uint16_t>(std::lround(c * 65535));
}

void addPrimitive(const Document& document, const Struct& primitive, const Eigen::Affine3d& place,
                  TriangleMesh& mesh, const ReadOptions& options) {
  const std::int64_t mode = indexOf(primitive, "mode", 4, document.name);
  if (mode < 4) return;  // Points and lines.
  if (mode > 6) refuse(document.name, "it has a kind of part that is not in the standard");
  const Value* attributes = member(primitive, "attributes");
  if (!attributes) return;
  const Struct& named = attributes->struct_value();
  const std::int64_t position_index = indexOf(named, "POSITION", -1, document.name);
  if (position_index < 0) return;
  const Accessor positions = document.accessor(position_index);
  if (positions.components != 3 || positions.component_type != 5126)
    refuse(document.name, "its positions are not three floats each");
  // Vertices count like triangles do against the limit: nodes may repeat a part without bound.
  if (positions.count + static_cast<std::int64_t>(mesh.vertices_mm.size()) >
      3 * options.max_triangles)
    throw BadInput(document.name + " has more vertices than are read; thin it out first.");
  const auto first = static_cast<std::int64_t>(mesh.vertices_mm.size());

  std::optional<Accessor> colours;
  if (const std::int64_t i = indexOf(named, "COLOR_0", -1, document.name); i >= 0) {
    const Accessor a = document.accessor(i);
    if (a.count == positions.count && a.components >= 3) colours = a;
  }
  for (std::int64_t i = 0; i < positions.count; ++i) {
    mesh.vertices_mm.push_back(
        place * Eigen::Vector3d(positions.at(i, 0), positions.at(i, 1), positions.at(i, 2)));
    if (colours)
      mesh.colours.push_back({srgbFromLinear(colours->at(i, 0)), srgbFromLinear(colours->at(i, 1)),
                              srgbFromLinear(colours->at(i, 2))});
  }
  std::optional<Accessor> indices;
  if (const std::int64_t i = indexOf(primitive, "indices", -1, document.name); i >= 0)
    indices = document.accessor(i);
  const std::int64_t count = indices ? indices->count : positions.count;
  const auto corner = [&](std::int64_t i) {
    const double local = indices ? indices->at(i, 0) : static_cast<double>(i);
    if (!(local >= 0 && local < static_cast<double>(positions.count)))
      refuse(document.name, "a face names a vertex that it lacks");
    return first + static_cast<std::int64_t>(local);
  };
  // A mirroring transform turns the triangles over (3.7.4), and so do odd ones of a strip.
  const bool mirrored = place.linear().determinant() < 0;
  const std::int64_t step = mode == 4 ? 3 : 1;
  for (std::int64_t i = 0; i + 2 < count; i += step) {
    const bool flip = mirrored != (mode == 5 && i % 2 == 1);
    const std::int64_t a = corner(mode == 6 ? 0 : i), b = corner(i + 1), c = corner(i + 2);
    addTriangle(mesh, a, flip ? c : b, flip ? b : c, document.name, options);
  }
}

Eigen::Affine3d transformOf(const Struct& node) {
  Eigen::Affine3d place = Eigen::Affine3d::Identity();
  const auto values = [&](const char* key, int size) {
    const ListValue& list = listOf(node, key);
    std::vector<double> out;
    if (list.values_size() == size)
      for (const Value& v : list.values()) out.push_back(v.number_value());
    return out;
  };
  if (const auto m = values("matrix", 16); !m.empty()) {
    place.matrix() = Eigen::Map<const Eigen::Matrix4d>(m.data());  // Column-major, like glTF's.
    place.makeAffine();
    return place;
  }
  if (const auto t = values("translation", 3); !t.empty())
    place.translate(Eigen::Vector3d(t[0], t[1], t[2]));
  if (const auto q = values("rotation", 4); !q.empty())
    place.rotate(Eigen::Quaterniond(q[3], q[0], q[1], q[2]).normalized());
  if (const auto s = values("scale", 3); !s.empty()) place.scale(Eigen::Vector3d(s[0], s[1], s[2]));
  return place;
}

void addMesh(const Document& document, std::int64_t index, const Eigen::Affine3d& place,
             TriangleMesh& mesh, const ReadOptions& options) {
  for (const Value& p :
       listOf(elementOf(listOf(document.json, "meshes"), index, document.name), "primitives")
           .values())
    addPrimitive(document, p.struct_value(), place, mesh, options);
}

/// Walks the scene's trees (3.5.2) with a stack of its own: a file can't exhaust the program's.
void addNodes(const Document& document, TriangleMesh& mesh, const ReadOptions& options) {
  const ListValue& nodes = listOf(document.json, "nodes");
  const ListValue& scenes = listOf(document.json, "scenes");
  std::vector<std::pair<std::int64_t, Eigen::Affine3d>> open;
  if (scenes.values_size() > 0) {
    const Struct& scene =
        elementOf(scenes, indexOf(document.json, "scene", 0, document.name), document.name);
    for (const Value& root : listOf(scene, "nodes").values())
      open.emplace_back(static_cast<std::int64_t>(root.number_value()),
                        Eigen::Affine3d::Identity());
  }
  std::vector<bool> seen(static_cast<std::size_t>(nodes.values_size()), false);
  while (!open.empty()) {
    const auto [index, above] = open.back();
    open.pop_back();
    const Struct& node = elementOf(nodes, index, document.name);
    if (seen[static_cast<std::size_t>(index)]) refuse(document.name, "its nodes are no tree");
    seen[static_cast<std::size_t>(index)] = true;
    const Eigen::Affine3d place = above * transformOf(node);
    if (const std::int64_t m = indexOf(node, "mesh", -1, document.name); m >= 0)
      addMesh(document, m, place, mesh, options);
    for (const Value& child : listOf(node, "children").values())
      open.emplace_back(static_cast<std::int64_t>(child.number_value()), place);
  }
}

// --- Writing ---

void pad(std::string& bytes, char with) { bytes.resize((bytes.size() + 3) / 4 * 4, with); }

/// Nine digits, so that the float comes back as it is stored (3.6.2.5 wants the exact bounds).
std::string vec3(const Eigen::Vector3f& v) {
  char text[64];
  std::snprintf(text, sizeof text, "[%.9g,%.9g,%.9g]", v[0], v[1], v[2]);
  return text;
}

struct Written {
  std::string bin, views, accessors;
  int count = 0;

  /// Closes the run of bytes that began at `start` as one view with one accessor.
  void close(std::size_t start, int target, std::size_t elements, int component_type,
             const std::string& type, const std::string& more = "") {
    const std::string comma = count > 0 ? "," : "";
    views += comma + "{\"buffer\":0,\"byteOffset\":" + std::to_string(start) +
             ",\"byteLength\":" + std::to_string(bin.size() - start) +
             ",\"target\":" + std::to_string(target) + "}";
    accessors += comma + "{\"bufferView\":" + std::to_string(count) +
                 ",\"componentType\":" + std::to_string(component_type) +
                 ",\"count\":" + std::to_string(elements) + ",\"type\":\"" + type + "\"" + more +
                 "}";
    ++count;
  }
};

Written writeBuffers(const TriangleMesh& mesh) {
  Written out;
  const std::size_t vertices = mesh.vertices_mm.size();
  Eigen::Vector3f low = Eigen::Vector3f::Constant(1e30f), high = -low;
  for (const Eigen::Vector3d& v : mesh.vertices_mm) {
    const Eigen::Vector3f m = (v / 1000).cast<float>();
    low = low.cwiseMin(m);
    high = high.cwiseMax(m);
    for (int k = 0; k < 3; ++k) appendLittleEndian(out.bin, m[k]);
  }
  out.close(0, 34962, vertices, 5126, "VEC3", ",\"min\":" + vec3(low) + ",\"max\":" + vec3(high));
  std::size_t start = out.bin.size();
  for (Eigen::Vector3d n : mesh.normals.empty() ? vertexNormals(mesh) : mesh.normals) {
    if (!(n.norm() > 0)) n = Eigen::Vector3d::UnitZ();  // The standard wants unit length always.
    n.normalize();
    for (int k = 0; k < 3; ++k) appendLittleEndian(out.bin, static_cast<float>(n[k]));
  }
  out.close(start, 34962, vertices, 5126, "VEC3");
  if (!mesh.colours.empty()) {
    start = out.bin.size();
    for (const auto& colour : mesh.colours) {
      for (std::uint8_t c : colour) appendLittleEndian(out.bin, linearFromSrgb(c));
      appendLittleEndian(out.bin, std::uint16_t{65535});
    }
    out.close(start, 34962, vertices, 5123, "VEC4", ",\"normalized\":true");
  }
  start = out.bin.size();
  for (const Eigen::Vector3i& t : mesh.triangles)
    for (int k = 0; k < 3; ++k) appendLittleEndian(out.bin, static_cast<std::uint32_t>(t[k]));
  out.close(start, 34963, mesh.triangles.size() * 3, 5125, "SCALAR");
  return out;
}

}  // namespace

TriangleMesh parseGlb(std::string_view bytes, const std::string& name, const ReadOptions& options) {
  const Document document = parseChunks(bytes, name);
  TriangleMesh mesh;
  addNodes(document, mesh, options);
  return mesh;
}

std::string glbBytes(const TriangleMesh& mesh) {
  Written out = writeBuffers(mesh);
  const bool colours = !mesh.colours.empty();
  std::string json =
      "{\"asset\":{\"version\":\"2.0\",\"generator\":\"Holdshelf\"},\"scene\":0,"
      "\"scenes\":[{\"nodes\":[0]}],\"nodes\":[{\"mesh\":0,\"name\":\"hold\"}],"
      "\"materials\":[{\"pbrMetallicRoughness\":{\"metallicFactor\":0,\"roughnessFactor\":0.7}}],"
      "\"meshes\":[{\"primitives\":[{\"material\":0,\"attributes\":{\"POSITION\":0,\"NORMAL\":1";
  json += colours ? ",\"COLOR_0\":2},\"indices\":3}]}]," : "},\"indices\":2}]}],";
  json += "\"buffers\":[{\"byteLength\":" + std::to_string(out.bin.size()) +
          "}],\"bufferViews\":[" + out.views + "],\"accessors\":[" + out.accessors + "]}";
  pad(json, ' ');
  pad(out.bin, '\0');
  std::string bytes = "glTF";
  appendLittleEndian(bytes, std::uint32_t{2});
  appendLittleEndian(bytes, static_cast<std::uint32_t>(28 + json.size() + out.bin.size()));
  appendLittleEndian(bytes, static_cast<std::uint32_t>(json.size()));
  appendLittleEndian(bytes, kJsonChunk);
  bytes += json;
  appendLittleEndian(bytes, static_cast<std::uint32_t>(out.bin.size()));
  appendLittleEndian(bytes, kBinChunk);
  return bytes + out.bin;
}

}  // namespace holdshelf
