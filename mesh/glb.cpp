// SPDX-License-Identifier: Apache-2.0
// glTF 2.0 (Khronos Group; ISO/IEC 12113:2022), binary form. The numbers in comments are sections.
#include <Eigen/Geometry>
#include <cmath>
#include <cstdio>
#include <optional>
#include <utility>
#include <vector>

#include "mesh/byte_cursor.h"
#include "mesh/glb_document.h"
#include "mesh/glb_parts.h"
#include "mesh/mesh_formats.h"
#include "mesh/srgb.h"

namespace holdshelf {
namespace {

using google::protobuf::ListValue;
using google::protobuf::Struct;
using google::protobuf::Value;

// With each node that repeats them; a part may be empty and so count against no other limit.
constexpr std::int64_t kMostParts = 100'000;

void addPrimitive(const GlbDocument& document, const Struct& primitive,
                  const Eigen::Affine3d& place, TriangleMesh& mesh, const ReadOptions& options) {
  const std::int64_t mode = jsonIndex(primitive, "mode", 4, document.name);
  if (mode < 4) return;  // Points and lines.
  if (mode > 6) refuseGlb(document.name, "it has a kind of part that is not in the standard");
  const Value* attributes = jsonMember(primitive, "attributes");
  if (!attributes) return;
  const Struct& named = attributes->struct_value();
  const std::int64_t position_index = jsonIndex(named, "POSITION", -1, document.name);
  if (position_index < 0) return;
  const GlbAccessor positions = document.accessor(position_index);
  if (positions.components != 3 || positions.component_type != 5126)
    refuseGlb(document.name, "its positions are not three floats each");
  // Vertices count like triangles do against the limit: nodes may repeat a part without bound.
  if (positions.count + static_cast<std::int64_t>(mesh.vertices_mm.size()) >
      3 * options.max_triangles)
    throw BadInput(document.name + " has more vertices than are read; thin it out first.");
  const auto first = static_cast<std::int64_t>(mesh.vertices_mm.size());

  std::optional<GlbAccessor> colours;
  if (const std::int64_t i = jsonIndex(named, "COLOR_0", -1, document.name); i >= 0) {
    const GlbAccessor a = document.accessor(i);
    if (a.count == positions.count && a.components >= 3) colours = a;
  }
  for (std::int64_t i = 0; i < positions.count; ++i) {
    mesh.vertices_mm.push_back(
        place * Eigen::Vector3d(positions.at(i, 0), positions.at(i, 1), positions.at(i, 2)));
    if (colours)
      mesh.colours.push_back({srgbFromLinear(colours->at(i, 0)), srgbFromLinear(colours->at(i, 1)),
                              srgbFromLinear(colours->at(i, 2))});
  }
  std::optional<GlbAccessor> indices;
  if (const std::int64_t i = jsonIndex(primitive, "indices", -1, document.name); i >= 0)
    indices = document.accessor(i);
  const std::int64_t count = indices ? indices->count : positions.count;
  const auto corner = [&](std::int64_t i) {
    const double local = indices ? indices->at(i, 0) : static_cast<double>(i);
    if (!(local >= 0 && local < static_cast<double>(positions.count)))
      refuseGlb(document.name, "a face names a vertex that it lacks");
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
    const ListValue& list = jsonList(node, key);
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

/// @param parts  How many have been added so far.
void addMesh(const GlbDocument& document, std::int64_t index, const Eigen::Affine3d& place,
             TriangleMesh& mesh, const ReadOptions& options, std::int64_t& parts) {
  for (const Value& p :
       jsonList(jsonElement(jsonList(document.json, "meshes"), index, document.name), "primitives")
           .values()) {
    if (++parts > kMostParts) refuseGlb(document.name, "it is put together of too many parts");
    addPrimitive(document, p.struct_value(), place, mesh, options);
  }
}

/// Walks the scene's trees (3.5.2) with a stack of its own: a file can't exhaust the program's.
void addNodes(const GlbDocument& document, TriangleMesh& mesh, const ReadOptions& options) {
  const ListValue& nodes = jsonList(document.json, "nodes");
  const ListValue& scenes = jsonList(document.json, "scenes");
  std::vector<std::pair<std::int64_t, Eigen::Affine3d>> open;
  if (scenes.values_size() > 0) {
    const Struct& scene =
        jsonElement(scenes, jsonIndex(document.json, "scene", 0, document.name), document.name);
    for (const Value& root : jsonList(scene, "nodes").values())
      open.emplace_back(wholeNumber(root.number_value(), "nodes", document.name),
                        Eigen::Affine3d::Identity());
  }
  std::int64_t parts = 0;
  std::vector<bool> seen(static_cast<std::size_t>(nodes.values_size()), false);
  while (!open.empty()) {
    const auto [index, above] = open.back();
    open.pop_back();
    const Struct& node = jsonElement(nodes, index, document.name);
    if (seen[static_cast<std::size_t>(index)]) refuseGlb(document.name, "its nodes are no tree");
    seen[static_cast<std::size_t>(index)] = true;
    const Eigen::Affine3d place = above * transformOf(node);
    if (const std::int64_t m = jsonIndex(node, "mesh", -1, document.name); m >= 0)
      addMesh(document, m, place, mesh, options, parts);
    for (const Value& child : jsonList(node, "children").values())
      open.emplace_back(wholeNumber(child.number_value(), "children", document.name), place);
  }
}

/// Nine digits, so that the float comes back as it is stored (3.6.2.5 wants the exact bounds).
std::string vec3(const Eigen::Vector3f& v) {
  char text[64];
  std::snprintf(text, sizeof text, "[%.9g,%.9g,%.9g]", v[0], v[1], v[2]);
  return text;
}

GlbParts bufferParts(const TriangleMesh& mesh) {
  GlbParts parts;
  const std::size_t vertices = mesh.vertices_mm.size();
  std::string bytes;
  Eigen::Vector3f low = Eigen::Vector3f::Constant(1e30f), high = -low;
  for (const Eigen::Vector3d& v : mesh.vertices_mm) {
    const Eigen::Vector3f m = (v / 1000).cast<float>();
    low = low.cwiseMin(m);
    high = high.cwiseMax(m);
    for (int k = 0; k < 3; ++k) appendLittleEndian(bytes, m[k]);
  }
  parts.add("POSITION", bytes, 0, vertices, 5126, "VEC3",
            ",\"min\":" + vec3(low) + ",\"max\":" + vec3(high));
  bytes.clear();
  for (Eigen::Vector3d n : mesh.normals.empty() ? vertexNormals(mesh) : mesh.normals) {
    if (!(n.norm() > 0)) n = Eigen::Vector3d::UnitZ();  // The standard wants unit length always.
    n.normalize();
    for (int k = 0; k < 3; ++k) appendLittleEndian(bytes, static_cast<float>(n[k]));
  }
  parts.add("NORMAL", bytes, 0, vertices, 5126, "VEC3");
  if (!mesh.colours.empty()) {
    bytes.clear();
    for (const auto& colour : mesh.colours) {
      for (std::uint8_t c : colour)  // The standard wants linear light (3.7.2.1).
        appendLittleEndian(
            bytes, static_cast<std::uint16_t>(std::lround(linearOfSrgb(c / 255.0) * 65535)));
      appendLittleEndian(bytes, std::uint16_t{65535});
    }
    parts.add("COLOR_0", bytes, 0, vertices, 5123, "VEC4", ",\"normalized\":true");
  }
  bytes.clear();
  for (const Eigen::Vector3i& t : mesh.triangles)
    for (int k = 0; k < 3; ++k) appendLittleEndian(bytes, static_cast<std::uint32_t>(t[k]));
  parts.add("", bytes, 0, mesh.triangles.size() * 3, 5125, "SCALAR");
  return parts;
}

}  // namespace

TriangleMesh parseGlb(std::string_view bytes, const std::string& name, const ReadOptions& options) {
  const GlbDocument document = parseGlbDocument(bytes, name);
  TriangleMesh mesh;
  addNodes(document, mesh, options);
  return mesh;
}

std::string glbBytes(const TriangleMesh& mesh) {
  const GlbParts parts = bufferParts(mesh);
  const std::string json =
      "{\"asset\":{\"version\":\"2.0\",\"generator\":\"Holdshelf\"},\"scene\":0,"
      "\"scenes\":[{\"nodes\":[0]}],\"nodes\":[{\"mesh\":0,\"name\":\"hold\"}],"
      "\"materials\":[{\"pbrMetallicRoughness\":{\"metallicFactor\":0,\"roughnessFactor\":0.7}}],"
      "\"meshes\":[{\"primitives\":[{\"material\":0,\"attributes\":{" +
      parts.attributes + "},\"indices\":" + std::to_string(parts.count - 1) +
      "}]}],\"buffers\":[{\"byteLength\":" + std::to_string(parts.bin.size()) +
      "}],\"bufferViews\":[" + parts.views + "],\"accessors\":[" + parts.accessors + "]}";
  return glbFile(json, parts.bin);
}

}  // namespace holdshelf
