// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <functional>
#include <utility>
#include <vector>

#include "mesh/outside_line.h"

namespace holdshelf {

struct EdgeOptions {
  /// From this facing on a surface may be pulled on: a face that slopes away by 90 - this.
  double grip_facing_deg = 35;
  double smallest_depth_mm = 2;  ///< Shallower steps are texture.
  double contact_mm = 20;        ///< Of a finger behind the lip, over which the incut is fitted.
  double wall_mm = 1.5;          ///< A line that ends below this ends at the wall.
  double facing_sigma_deg = 1;   ///< Noise of OutsideLine::facing_deg.
  double turn_sigma_deg = 1;     ///< The part of it that neighbouring places do not share.
  double kernel_mm = 0.6;        ///< Half the window over which facing was averaged.
  /// Distance of a point (u, z) from every finger that can come in; empty: all is reachable.
  std::function<double(const Eigen::Vector2d&)> gap_mm;
  double touch_mm = 1.2;  ///< A gap up to this counts as touched.
  /// The mesh edge a point was cut from, in the section's axes; empty: not known.
  std::function<Eigen::Vector2d(const SectionPoint&)> edge_mm;
};

/// One grip face of a section with its lip and root, as arc lengths along the line.
///
///        z ^            face ---.  <- lip outermost: largest z of the lip arc
///          |      (facing 0)     \     lip arc: facing turns from face to grip face
///          |                      |
///          |        rise          |  grip face (facing 90 + incut)
///          |     back to +z ______|
///          +---------------- root -------> u
struct SectionEdge {
  double arc_begin_mm = 0, arc_end_mm = 0;  ///< Where the lip's turn begins and ends.
  /// Where a finger's contact begins: behind all turning that is more than noise; from arc_end_mm
  /// on.
  double contact_begin_mm = 0;
  double lip_mm = 0;       ///< Of the lip's outermost point.
  double face_end_mm = 0;  ///< Of the grip face, where the root's turn begins.
  double root_mm = 0;
  Eigen::Vector2d lip_at_mm, root_at_mm;  ///< (u, z).
  double depth_mm = 0;                    ///< z of lip minus z of root.
  double along_mm = 0;                    ///< Along the surface from lip to root.
  double incut_deg = 0;
  double face_facing_deg = 0, grip_facing_deg = 0;  ///< Before and behind the arc.
  bool at_wall = false;                             ///< The root is the wall plane, not a rise.
  bool cut_short = false;  ///< A finger can't come in as far as the true root.
};

/// Finds every reachable grip face of one outside line, in the order of the walk.
std::vector<SectionEdge> findEdges(const OutsideLine& line, const EdgeOptions& options);

/// The part of the grip face on which a finger lies, as arc lengths: behind the lip's arc, or,
/// where the face is all arc (a sloper), the steepest part before the root.
std::pair<double, double> contactPart(const SectionEdge& edge, const EdgeOptions& options);

}  // namespace holdshelf
