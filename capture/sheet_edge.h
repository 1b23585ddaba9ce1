// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <opencv2/core.hpp>
#include <optional>
#include <vector>

#include "capture/camera.h"

namespace holdshelf {

/// One side of the layout's bounding rectangle, with the height of the paper along it.
/// A point `out` beyond the side, `along` from the side's middle, is
/// origin + along * direction + out * outward, at z = height + tilt * along.
struct SheetSide {
  Eigen::Vector2d origin, direction, outward;
  double length = 0, height = 0, tilt = 0;

  Eigen::Vector3d point(double along, double out) const {
    const Eigen::Vector2d p = origin + along * direction + out * outward;
    return {p.x(), p.y(), height + tilt * along};
  }
};

/// An edge of the sheet in one view: out = offset + slope * along, mm.
struct SheetEdge {
  double offset = 0, slope = 0;
};

/// @param box     Of the mat's corners.
/// @param which   0 right (+x), 1 top (+y), 2 left, 3 bottom.
/// @param points  The corners; those in the outer tenth of the box give the paper's height along
/// the
///                side, by least squares.
SheetSide sideOf(const Eigen::AlignedBox2d& box, int which,
                 const std::vector<Eigen::Vector3d>& points);

/// Finds the sheet's edge beyond a side in one view: the first line outwards, at most 0.03 askew,
/// at which the light drops along four fifths of what is seen of it, then fitted to sub-pixel
/// (edge_line.h) and mapped onto the paper.
///
/// @param linear  Linear light of the view's picture, CV_32F.
/// @return  nullopt: not in view, no drop, or no clear edge there.
std::optional<SheetEdge> edgeInView(const cv::Mat& linear, const PosedCamera& camera,
                                    const SheetSide& side);

/// Median edge over the views. nullopt: seen in fewer than three, or fewer than three or less than
/// half of those lie within 1.5 mm of it, since a seam of the table or a shadow is another line in
/// every view.
std::optional<SheetEdge> commonEdge(const std::vector<std::optional<SheetEdge>>& seen);

}  // namespace holdshelf
