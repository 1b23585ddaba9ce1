// SPDX-License-Identifier: Apache-2.0
#include "mesh/view_glb.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstdio>

#include "mesh/byte_cursor.h"
#include "mesh/glb_parts.h"
#include "mesh/srgb.h"

namespace holdshelf {
namespace {

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

void addPositions(const TriangleMesh& mesh, const Quantiser& quantise, GlbParts& parts) {
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

void addNormals(const TriangleMesh& mesh, GlbParts& parts) {
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

/// The standard wants linear light (3.7.2.1).
std::uint8_t linearByte(std::uint8_t srgb) {
  return static_cast<std::uint8_t>(std::lround(linearOfSrgb(srgb / 255.0) * 255));
}

void addAttributes(const TriangleMesh& mesh, std::span<const float> value, GlbParts& parts) {
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

}  // namespace

std::string viewGlb(const TriangleMesh& mesh, std::span<const float> value) {
  const Quantiser quantise(mesh);
  GlbParts parts;
  addPositions(mesh, quantise, parts);
  addNormals(mesh, parts);
  addAttributes(mesh, value, parts);
  const bool small = mesh.vertices_mm.size() < 65535;
  const int indices = parts.count;
  parts.add("", indexBytes(mesh, small), 0, mesh.triangles.size() * 3, small ? 5123 : 5125,
            "SCALAR");
  char node[200];
  std::snprintf(node, sizeof node, "\"translation\":[%.9g,%.9g,%.9g],\"scale\":[%.9g,%.9g,%.9g]",
                quantise.middle_mm[0] / 1000, quantise.middle_mm[1] / 1000,
                quantise.middle_mm[2] / 1000, quantise.half_mm / 1000, quantise.half_mm / 1000,
                quantise.half_mm / 1000);
  const std::string json =
      "{\"asset\":{\"version\":\"2.0\",\"generator\":\"Holdshelf\"},\"extensionsUsed\":["
      "\"KHR_mesh_quantization\"],\"extensionsRequired\":[\"KHR_mesh_quantization\"],\"scene\":0,"
      "\"scenes\":[{\"nodes\":[0]}],\"nodes\":[{\"mesh\":0,\"name\":\"hold\"," +
      std::string(node) +
      "}],\"materials\":[{\"pbrMetallicRoughness\":{\"metallicFactor\":0,\"roughnessFactor\":0.7}}"
      "],\"meshes\":[{\"primitives\":[{\"material\":0,\"attributes\":{" +
      parts.attributes + "},\"indices\":" + std::to_string(indices) +
      "}]}],\"buffers\":[{\"byteLength\":" + std::to_string(parts.bin.size()) +
      "}],\"bufferViews\":[" + parts.views + "],\"accessors\":[" + parts.accessors + "]}";
  return glbFile(json, parts.bin);
}

}  // namespace holdshelf
