// SPDX-License-Identifier: Apache-2.0
#include "mesh/view_mesh.h"

#include <meshoptimizer.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <map>
#include <vector>

#include "mesh/byte_cursor.h"

namespace holdshelf {
namespace {

constexpr std::uint32_t kJsonChunk = 0x4E4F534A, kBinChunk = 0x004E4942;
constexpr int kVertices = 34962, kIndices = 34963;  // Targets of buffer views (5.11).

std::vector<unsigned> indicesOf(const TriangleMesh& mesh) {
  std::vector<unsigned> indices;
  indices.reserve(mesh.triangles.size() * 3);
  for (const Eigen::Vector3i& t : mesh.triangles)
    for (int k = 0; k < 3; ++k) indices.push_back(static_cast<unsigned>(t[k]));
  return indices;
}

/// The vertices that are in use, with their attributes, in order of use.
TriangleMesh keepUsed(const TriangleMesh& mesh, const std::vector<unsigned>& indices) {
  TriangleMesh kept;
  std::vector<int> place(mesh.vertices_mm.size(), -1);
  const auto keep = [&](unsigned vertex) {
    if (place[vertex] >= 0) return place[vertex];
    place[vertex] = static_cast<int>(kept.vertices_mm.size());
    kept.vertices_mm.push_back(mesh.vertices_mm[vertex]);
    if (!mesh.normals.empty()) kept.normals.push_back(mesh.normals[vertex]);
    if (!mesh.colours.empty()) kept.colours.push_back(mesh.colours[vertex]);
    if (!mesh.sigma_mm.empty()) kept.sigma_mm.push_back(mesh.sigma_mm[vertex]);
    if (!mesh.guesswork.empty()) kept.guesswork.push_back(mesh.guesswork[vertex]);
    return place[vertex];
  };
  for (std::size_t i = 0; i + 2 < indices.size(); i += 3) {
    const int a = keep(indices[i]), b = keep(indices[i + 1]), c = keep(indices[i + 2]);
    kept.triangles.emplace_back(a, b, c);
  }
  return kept;
}

/// What a GLB's description is put together from.
struct Parts {
  std::string bin, views, accessors, attributes;
  int views_count = 0;

  void add(const std::string& attribute, const std::string& bytes, int stride, std::size_t count,
           int component, const std::string& type, const std::string& more = "") {
    const std::string comma = views_count ? "," : "";
    views += comma + "{\"buffer\":0,\"byteOffset\":" + std::to_string(bin.size()) +
             ",\"byteLength\":" + std::to_string(bytes.size()) +
             (stride ? ",\"byteStride\":" + std::to_string(stride) : "") +
             ",\"target\":" + std::to_string(attribute.empty() ? kIndices : kVertices) + "}";
    accessors += comma + "{\"bufferView\":" + std::to_string(views_count) +
                 ",\"componentType\":" + std::to_string(component) +
                 ",\"count\":" + std::to_string(count) + ",\"type\":\"" + type + "\"" + more + "}";
    if (!attribute.empty())
      attributes +=
          (attributes.empty() ? "\"" : ",\"") + attribute + "\":" + std::to_string(views_count);
    bin += bytes;
    bin.resize((bin.size() + 3) / 4 * 4, '\0');
    ++views_count;
  }
};

/// Node transform that undoes the quantisation: one step for all axes, so that normals stay.
struct Quantiser {
  Eigen::Vector3d middle_mm = Eigen::Vector3d::Zero();
  double half_mm = 1;

  explicit Quantiser(const TriangleMesh& mesh) {
    Eigen::AlignedBox3d box;
    for (const Eigen::Vector3d& v : mesh.vertices_mm) box.extend(v);
    if (box.isEmpty()) return;
    middle_mm = box.center();
    half_mm = std::max(box.sizes().maxCoeff() / 2, 1e-6);
  }
  std::int16_t operator()(double value_mm, int axis) const {
    return static_cast<std::int16_t>(std::lround((value_mm - middle_mm[axis]) / half_mm * 32767));
  }
};

void addPositions(const TriangleMesh& mesh, const Quantiser& quantise, Parts& parts) {
  std::string bytes;
  Eigen::Vector3i low = Eigen::Vector3i::Constant(32767), high = -low;
  for (const Eigen::Vector3d& v : mesh.vertices_mm) {
    for (int k = 0; k < 3; ++k) {
      const std::int16_t step = quantise(v[k], k);
      appendLittleEndian(bytes, step);
      low[k] = std::min<int>(low[k], step);
      high[k] = std::max<int>(high[k], step);
    }
    appendLittleEndian(bytes, std::int16_t{0});  // Each vertex starts at a multiple of four.
  }
  char bounds[160];
  std::snprintf(bounds, sizeof bounds, ",\"normalized\":true,\"min\":[%d,%d,%d],\"max\":[%d,%d,%d]",
                low[0], low[1], low[2], high[0], high[1], high[2]);
  parts.add("POSITION", bytes, 8, mesh.vertices_mm.size(), 5122, "VEC3", bounds);
}

void addNormals(const TriangleMesh& mesh, Parts& parts) {
  std::string bytes;
  for (Eigen::Vector3d n : mesh.normals.empty() ? vertexNormals(mesh) : mesh.normals) {
    if (!(n.norm() > 0)) n = Eigen::Vector3d::UnitZ();
    n.normalize();
    for (int k = 0; k < 3; ++k)
      appendLittleEndian(bytes, static_cast<std::int8_t>(std::lround(n[k] * 127)));
    appendLittleEndian(bytes, std::int8_t{0});
  }
  parts.add("NORMAL", bytes, 4, mesh.vertices_mm.size(), 5120, "VEC3", ",\"normalized\":true");
}

std::uint8_t linearByte(std::uint8_t srgb) {
  const double s = srgb / 255.0;  // IEC 61966-2-1; the standard wants linear light (3.7.2.1).
  const double c = s <= 0.04045 ? s / 12.92 : std::pow((s + 0.055) / 1.055, 2.4);
  return static_cast<std::uint8_t>(std::lround(c * 255));
}

void addAttributes(const TriangleMesh& mesh, std::span<const float> value, Parts& parts) {
  const std::size_t count = mesh.vertices_mm.size();
  std::string bytes;
  if (!mesh.colours.empty()) {
    for (const auto& colour : mesh.colours) {
      for (const std::uint8_t c : colour) appendLittleEndian(bytes, linearByte(c));
      appendLittleEndian(bytes, std::uint8_t{255});
    }
    parts.add("COLOR_0", bytes, 4, count, 5121, "VEC4", ",\"normalized\":true");
  }
  if (!mesh.guesswork.empty()) {
    bytes.clear();
    for (const std::uint8_t g : mesh.guesswork) {
      appendLittleEndian(bytes, g);
      bytes.append(3, '\0');
    }
    parts.add("_GUESSWORK", bytes, 4, count, 5121, "SCALAR");
  }
  if (!value.empty()) {
    bytes.clear();
    for (const float v : value) appendLittleEndian(bytes, std::isfinite(v) ? v : 0.0F);
    parts.add("_VALUE", bytes, 4, count, 5126, "SCALAR");
  }
}

std::string indexBytes(const TriangleMesh& mesh, bool small) {
  std::string bytes;
  for (const Eigen::Vector3i& t : mesh.triangles)
    for (int k = 0; k < 3; ++k)
      if (small)
        appendLittleEndian(bytes, static_cast<std::uint16_t>(t[k]));
      else
        appendLittleEndian(bytes, static_cast<std::uint32_t>(t[k]));
  return bytes;
}

void appendChunk(std::string& file, std::uint32_t type, const std::string& data) {
  appendLittleEndian(file, static_cast<std::uint32_t>(data.size()));
  appendLittleEndian(file, type);
  file += data;
}

}  // namespace

TriangleMesh simplifiedForView(const TriangleMesh& mesh, std::size_t triangles) {
  if (mesh.triangles.size() <= triangles) return mesh;
  std::vector<float> positions;
  positions.reserve(mesh.vertices_mm.size() * 3);
  for (const Eigen::Vector3d& v : mesh.vertices_mm)
    for (int k = 0; k < 3; ++k) positions.push_back(static_cast<float>(v[k]));
  std::vector<unsigned> indices = indicesOf(mesh);
  const std::size_t kept = meshopt_simplify(
      indices.data(), indices.data(), indices.size(), positions.data(), mesh.vertices_mm.size(),
      3 * sizeof(float), triangles * 3, /*target_error=*/1.0F, /*options=*/0U, nullptr);
  indices.resize(kept);
  meshopt_optimizeVertexCache(indices.data(), indices.data(), kept, mesh.vertices_mm.size());
  return keepUsed(mesh, indices);
}

std::vector<float> keptValues(const TriangleMesh& kept, const TriangleMesh& all,
                              std::span<const float> values) {
  // Kept vertices have their coordinates to the last bit.
  const auto key = [](const Eigen::Vector3d& v) { return std::array{v.x(), v.y(), v.z()}; };
  std::map<std::array<double, 3>, float> by_place;
  for (std::size_t i = 0; i < all.vertices_mm.size(); ++i)
    by_place.emplace(key(all.vertices_mm[i]), values[i]);
  std::vector<float> out;
  out.reserve(kept.vertices_mm.size());
  for (const Eigen::Vector3d& v : kept.vertices_mm) out.push_back(by_place.at(key(v)));
  return out;
}

std::string viewGlb(const TriangleMesh& mesh, std::span<const float> value) {
  const Quantiser quantise(mesh);
  Parts parts;
  addPositions(mesh, quantise, parts);
  addNormals(mesh, parts);
  addAttributes(mesh, value, parts);
  const bool small = mesh.vertices_mm.size() < 65535;
  const int indices = parts.views_count;
  parts.add("", indexBytes(mesh, small), 0, mesh.triangles.size() * 3, small ? 5123 : 5125,
            "SCALAR");
  char node[200];
  std::snprintf(node, sizeof node, "\"translation\":[%.9g,%.9g,%.9g],\"scale\":[%.9g,%.9g,%.9g]",
                quantise.middle_mm[0] / 1000, quantise.middle_mm[1] / 1000,
                quantise.middle_mm[2] / 1000, quantise.half_mm / 1000, quantise.half_mm / 1000,
                quantise.half_mm / 1000);
  std::string json =
      "{\"asset\":{\"version\":\"2.0\",\"generator\":\"Holdshelf\"},\"extensionsUsed\":["
      "\"KHR_mesh_quantization\"],\"extensionsRequired\":[\"KHR_mesh_quantization\"],\"scene\":0,"
      "\"scenes\":[{\"nodes\":[0]}],\"nodes\":[{\"mesh\":0,\"name\":\"hold\"," +
      std::string(node) +
      "}],\"materials\":[{\"pbrMetallicRoughness\":{\"metallicFactor\":0,\"roughnessFactor\":0.7}}"
      "],\"meshes\":[{\"primitives\":[{\"material\":0,\"attributes\":{" +
      parts.attributes + "},\"indices\":" + std::to_string(indices) +
      "}]}],\"buffers\":[{\"byteLength\":" + std::to_string(parts.bin.size()) +
      "}],\"bufferViews\":[" + parts.views + "],\"accessors\":[" + parts.accessors + "]}";
  json.resize((json.size() + 3) / 4 * 4, ' ');
  std::string file = "glTF";
  appendLittleEndian(file, std::uint32_t{2});
  appendLittleEndian(file, static_cast<std::uint32_t>(28 + json.size() + parts.bin.size()));
  appendChunk(file, kJsonChunk, json);
  appendChunk(file, kBinChunk, parts.bin);
  return file;
}

}  // namespace holdshelf
