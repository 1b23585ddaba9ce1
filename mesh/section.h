// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <cstdint>
#include <functional>
#include <span>
#include <vector>

#include "mesh/mesh_topology.h"
#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// Where a section crosses an edge of the mesh.
struct SectionPoint {
  Eigen::Vector2d at_mm;  ///< In the section's own axes.
  int from = 0, to = 0;   ///< The edge's vertices.
  double share = 0;       ///< 0 at `from`, 1 at `to`.
};

/// One piece of a section, in order, the solid to the right: the outward normal lies to the left of
/// the way. Closed pieces do not repeat their first point.
struct SectionLine {
  std::vector<SectionPoint> points;
  bool closed = false;
};
using SectionLines = std::vector<SectionLine>;

/// Parallel planes: right-handed axes of unit length, and where the planes stand along `normal`.
struct PlaneFamily {
  Eigen::Vector3d right;   ///< The section's first axis.
  Eigen::Vector3d up;      ///< The section's second axis.
  Eigen::Vector3d normal;  ///< right x up.
  double first_mm = 0, step_mm = 1;
  int count = 1;
  double offset(int k) const { return first_mm + step_mm * k; }
};

/// The planes that hold z and the pull at rotation `rotation_deg` (turned counter-clockwise to the
/// climber): right is u, against a straight downward pull; up is z; normal is the climber's right.
PlaneFamily pullPlanes(double rotation_deg);

/// Where each run begins in one array that holds them all, one behind the other, and where the last
/// ends. A hold's finest family of planes crosses its triangles a few million times.
/// @throws BadInput  They are more than 2e8 in all: 0.8 GB.
std::vector<std::size_t> runStarts(const std::vector<std::size_t>& lengths);

/// Cuts a mesh exactly: every point lies on an edge of the mesh, every line runs from triangle to
/// neighbouring triangle. A vertex in a plane counts as above it, so that nothing is degenerate and
/// the lines of a closed mesh are always closed. Open where the mesh has a border.
///
/// One cutter a thread (it owns scratch memory); mesh and topology must outlive it.
class SectionCutter {
 public:
  SectionCutter(const TriangleMesh& mesh, const MeshTopology& topology);

  /// Calls `use` for every plane in turn. O(#T + crossed triangles).
  /// @throws BadInput  Far more crossings than a hold has: see runStarts().
  void cut(const PlaneFamily& planes, const std::function<void(int, const SectionLines&)>& use);

  /// One plane only.
  SectionLines cutOne(PlaneFamily plane, double offset_mm);

 private:
  void setHeights(const Eigen::Vector3d& normal);
  void bucket(const PlaneFamily& planes);
  SectionLines linesOf(const PlaneFamily& planes, int k);
  void follow(const PlaneFamily& planes, double offset, int triangle, SectionLine& line);
  SectionPoint crossing(const PlaneFamily& planes, double offset, int half_edge) const;
  int leavingEdge(int triangle, double offset, bool down) const;

  const TriangleMesh& mesh_;
  const MeshTopology& topology_;
  std::vector<double> height_;      ///< #V along the normal.
  std::vector<std::size_t> start_;  ///< Into crossed_, a plane.
  std::vector<int> crossed_;        ///< Triangles by plane.
  std::vector<int> mark_;           ///< #T: the cut in which it was used.
  int cut_ = 0;
  std::vector<int> at_or_below_;            ///< #V: how many planes of the family.
  std::vector<std::pair<int, int>> range_;  ///< #T: least and greatest of its corners' counts.
  PlaneFamily ranges_of_;                   ///< The family that they hold for.
  Eigen::Vector3d heights_along_ = Eigen::Vector3d::Zero();
};

}  // namespace holdshelf
