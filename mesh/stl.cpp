// SPDX-License-Identifier: Apache-2.0
#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <vector>

#include "mesh/byte_cursor.h"
#include "mesh/mesh_formats.h"
#include "mesh/place_hash.h"

namespace holdshelf {
namespace {

constexpr std::size_t kHeaderBytes = 84;
constexpr std::size_t kTriangleBytes = 50;

/// Gives equal corners one index. Open addressing over the vertices already in the mesh: a
/// 5-million-triangle file must not cost one heap node a corner.
class CornerMerger {
 public:
  explicit CornerMerger(TriangleMesh& mesh) : mesh_(mesh), slots_(1024, -1) {}

  int indexOf(Eigen::Vector3d corner) {
    corner += Eigen::Vector3d::Zero();  // -0 becomes 0.
    if (mesh_.vertices_mm.size() * 2 >= slots_.size()) grow();
    std::size_t slot = placeHash(corner) & (slots_.size() - 1);
    while (slots_[slot] >= 0) {
      if (samePlace(mesh_.vertices_mm[static_cast<std::size_t>(slots_[slot])], corner))
        return slots_[slot];
      slot = (slot + 1) & (slots_.size() - 1);
    }
    slots_[slot] = static_cast<int>(mesh_.vertices_mm.size());
    mesh_.vertices_mm.push_back(corner);
    return slots_[slot];
  }

 private:
  void grow() {
    slots_.assign(slots_.size() * 4, -1);
    for (std::size_t i = 0; i < mesh_.vertices_mm.size(); ++i) {
      std::size_t slot = placeHash(mesh_.vertices_mm[i]) & (slots_.size() - 1);
      while (slots_[slot] >= 0) slot = (slot + 1) & (slots_.size() - 1);
      slots_[slot] = static_cast<int>(i);
    }
  }

  TriangleMesh& mesh_;
  std::vector<int> slots_;  ///< Size a power of two.
};

TriangleMesh parseBinary(ByteCursor& file, const ReadOptions& options) {
  TriangleMesh mesh;
  CornerMerger merger(mesh);
  file.take(80);
  const auto count = file.read<std::uint32_t>();
  if (count > file.left() / kTriangleBytes)
    throw BadInput(file.name() + ": the header promises " + std::to_string(count) +
                   " triangles, but only " + std::to_string(file.left()) +
                   " bytes follow; the file was cut off or is no STL, export it again.");
  for (std::uint32_t i = 0; i < count; ++i) {
    file.take(12);  // The facet normal, which many writers leave at zero.
    std::array<int, 3> t{};
    for (int& index : t) {
      const double x = file.read<float>(), y = file.read<float>(), z = file.read<float>();
      index = merger.indexOf({x, y, z});
    }
    file.take(2);
    addTriangle(mesh, t[0], t[1], t[2], file.name(), options);
  }
  return mesh;
}

/// Key words come in either case.
bool is(std::string_view word, std::string_view lower) {
  return std::equal(word.begin(), word.end(), lower.begin(), lower.end(), [](char a, char b) {
    return a == b || (a >= 'A' && a <= 'Z' && a - 'A' + 'a' == b);
  });
}

TriangleMesh parseText(ByteCursor& file, const ReadOptions& options) {
  TriangleMesh mesh;
  CornerMerger merger(mesh);
  std::vector<int> facet;
  bool finished = false;
  for (std::string_view word = file.word(); !word.empty(); word = file.word()) {
    if (is(word, "vertex")) {
      Eigen::Vector3d corner;
      for (int k = 0; k < 3; ++k)
        if (!parseNumber(file.word(), corner[k]))
          throw BadInput(file.name() + ": vertex " + std::to_string(mesh.triangles.size() * 3) +
                         " has a coordinate that is no number or is cut off; export it again.");
      facet.push_back(merger.indexOf(corner));
    } else if (is(word, "endfacet")) {
      for (std::size_t k = 2; k < facet.size(); ++k)
        addTriangle(mesh, facet[0], facet[k - 1], facet[k], file.name(), options);
      facet.clear();
    }
    finished = is(word, "endsolid") || (finished && !is(word, "solid"));
  }
  if (!finished)
    throw BadInput(file.name() + " ends before its 'endsolid'; it was cut off, export it again.");
  return mesh;
}

}  // namespace

bool isBinaryStl(std::string_view bytes) {
  if (bytes.size() < kHeaderBytes) return false;
  ByteCursor count(bytes.substr(80, 4), "");
  return bytes.size() ==
         kHeaderBytes + kTriangleBytes * static_cast<std::size_t>(count.read<std::uint32_t>());
}

TriangleMesh parseStl(std::string_view bytes, const std::string& name, const ReadOptions& options) {
  ByteCursor file(bytes, name);
  const bool text = is(bytes.substr(0, 5), "solid") && !isBinaryStl(bytes);
  return text ? parseText(file, options) : parseBinary(file, options);
}

std::string stlBytes(const TriangleMesh& mesh) {
  std::string bytes = "Millimetres";  // Must not begin with "solid".
  bytes.resize(80, ' ');
  bytes.reserve(kHeaderBytes + kTriangleBytes * mesh.triangles.size());
  appendLittleEndian(bytes, static_cast<std::uint32_t>(mesh.triangles.size()));
  for (const Eigen::Vector3i& t : mesh.triangles) {
    const Eigen::Vector3d &a = mesh.vertices_mm[static_cast<std::size_t>(t[0])],
                          &b = mesh.vertices_mm[static_cast<std::size_t>(t[1])],
                          &c = mesh.vertices_mm[static_cast<std::size_t>(t[2])];
    Eigen::Vector3d normal = (b - a).cross(c - a);
    if (normal.norm() > 0) normal.normalize();
    for (const Eigen::Vector3d& v : {normal, a, b, c})
      for (int k = 0; k < 3; ++k) appendLittleEndian(bytes, static_cast<float>(v[k]));
    appendLittleEndian(bytes, std::uint16_t{0});
  }
  return bytes;
}

}  // namespace holdshelf
