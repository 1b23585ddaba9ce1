// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <array>
#include <cstdint>
#include <utility>
#include <vector>

namespace holdshelf {

/// A triangle mesh of a hold. Lengths are millimetres; frame H (hold) unless a function says else:
/// wall plane z = 0, +z towards the climber, +y up at rotation 0, origin on the bolt axis.
///
/// Per-vertex attributes are empty or exactly one a vertex.
struct TriangleMesh {
  std::vector<Eigen::Vector3d> vertices_mm;          ///< #V, frame H.
  std::vector<Eigen::Vector3i> triangles;            ///< #T by 3, counter-clockwise from outside.
  std::vector<Eigen::Vector3d> normals;              ///< #V unit, outward, or empty.
  std::vector<std::array<std::uint8_t, 3>> colours;  ///< #V sRGB, or empty.
  std::vector<float> sigma_mm;                       ///< #V standard uncertainty, or empty.
  std::vector<std::uint8_t> guesswork;               ///< #V, 1: not seen by two good photos.
  double wall_sigma_mm = 0;  ///< Standard uncertainty of the wall plane's height; 0: not known.
};

/// Area-weighted unit vertex normals, #V; (0,0,0) where no triangle with area meets.
std::vector<Eigen::Vector3d> vertexNormals(const TriangleMesh& mesh);

/// True when every edge is shared by exactly two triangles that run along it in opposite senses.
bool isWatertight(const TriangleMesh& mesh);

/// How far a mesh reaches along a direction: the least and the largest dot product of its vertices
/// with it, mm for a unit direction. Without vertices the first is larger than the second.
std::pair<double, double> reachAlong(const TriangleMesh& mesh, const Eigen::Vector3d& direction);

}  // namespace holdshelf
