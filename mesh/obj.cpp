// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>
#include <vector>

#include "mesh/byte_cursor.h"
#include "mesh/mesh_formats.h"

namespace holdshelf {
namespace {

std::uint8_t colourByte(double value) {
  if (!(value > 0)) return 0;  // No number is black, too.
  return static_cast<std::uint8_t>(std::lround(std::clamp(value, 0.0, 1.0) * 255));
}

/// "v x y z" with an optional "r g b" from 0 to 1, as several scanners' programs write it.
void parseVertex(ByteCursor& words, TriangleMesh& mesh) {
  double v[6] = {};
  int count = 0;
  for (std::string_view word = words.word(); !word.empty() && count < 6; word = words.word())
    if (!parseNumber(word, v[count++]))
      throw BadInput(words.name() + ": vertex " + std::to_string(mesh.vertices_mm.size() + 1) +
                     " has a coordinate that is no number; export the mesh again.");
  if (count < 3)
    throw BadInput(words.name() + ": vertex " + std::to_string(mesh.vertices_mm.size() + 1) +
                   " has fewer than three coordinates; export the mesh again.");
  mesh.vertices_mm.emplace_back(v[0], v[1], v[2]);
  if (count == 6) mesh.colours.push_back({colourByte(v[3]), colourByte(v[4]), colourByte(v[5])});
}

/// "f 1 2 3", "f 1/7/3 ...", "f -3 -2 -1": counted from one, or backwards from the last vertex.
void parseFace(ByteCursor& words, TriangleMesh& mesh, const ReadOptions& options,
               std::vector<long long>& corners) {
  corners.clear();
  for (std::string_view word = words.word(); !word.empty(); word = words.word()) {
    long long index = 0;
    if (!parseNumber(word.substr(0, word.find('/')), index) || index == 0)
      throw BadInput(words.name() + ": face " + std::to_string(mesh.triangles.size() + 1) +
                     " names no vertex; export the mesh again.");
    corners.push_back(index > 0 ? index - 1
                                : static_cast<long long>(mesh.vertices_mm.size()) + index);
  }
  for (std::size_t k = 2; k < corners.size(); ++k)
    addTriangle(mesh, corners[0], corners[k - 1], corners[k], words.name(), options);
}

}  // namespace

TriangleMesh parseObj(std::string_view bytes, const std::string& name, const ReadOptions& options) {
  ByteCursor file(bytes, name);
  TriangleMesh mesh;
  std::vector<long long> corners;
  while (file.left() > 0) {
    ByteCursor words(file.line(), name);
    const std::string_view key = words.word();
    if (key == "v")
      parseVertex(words, mesh);
    else if (key == "f")
      parseFace(words, mesh, options, corners);
  }
  if (mesh.vertices_mm.empty())
    throw BadInput(name +
                   " holds no vertices, so it is no mesh; give a PLY, STL, OBJ or GLB file.");
  return mesh;
}

}  // namespace holdshelf
