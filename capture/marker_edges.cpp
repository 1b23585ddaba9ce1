// SPDX-License-Identifier: Apache-2.0
#include "capture/marker_edges.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "capture/edge_line.h"

namespace holdshelf {
namespace {

using Eigen::Vector2d;

/// Where the lines of two sides meet, ideal pixels.
Vector2d intersect(const EdgeLine& p, const EdgeLine& q) {
  const Vector2d dp = p.direction + p.slope * p.towards_bright,
                 dq = q.direction + q.slope * q.towards_bright;
  Eigen::Matrix2d M;
  M << dp, -dq;
  const Vector2d st = M.partialPivLu().solve(q.point(0) - p.point(0));
  return p.point(0) + st.x() * dp;
}

}  // namespace

MarkerEdges refineMarker(const cv::Mat& linear, const std::array<Vector2d, 4>& corners_px,
                         int cells, const CameraModel* lens) {
  std::array<Vector2d, 4> start = corners_px;
  if (lens)
    for (auto& corner : start) corner = idealPixel(*lens, corner);
  const Vector2d centre = (start[0] + start[1] + start[2] + start[3]) / 4;
  std::array<EdgeLine, 4> sides;  // Side c runs from corner c to the next.
  for (size_t c = 0; c < 4; ++c) {
    const Vector2d &a = start[c], &b = start[(c + 1) % 4];
    const Vector2d along = (b - a).normalized(), normal(-along.y(), along.x());
    const Vector2d opposite = (start[(c + 2) % 4] + start[(c + 3) % 4]) / 2;
    const double depth = std::abs(normal.dot(opposite - a));
    // The paper is bright, the marker's border dark: away from the centre it gets brighter.
    sides[c] = fitEdge(linear, a, b, a + b - centre, std::min(8.0, 0.9 * depth / cells), lens);
  }
  MarkerEdges out;
  double pair[2] = {0, 0};
  for (size_t c = 0; c < 4; ++c) {
    const EdgeLine &before = sides[(c + 3) % 4], &after = sides[c];
    out.corners_px[c] = corners_px[c];
    pair[c % 2] = std::max(pair[c % 2], after.valid ? after.blur_px : 0);
    if (!before.valid || !after.valid) continue;
    const Vector2d corner = intersect(before, after);
    const double length = (start[(c + 1) % 4] - start[c]).norm();
    if ((corner - start[c]).norm() > std::max(3.0, 0.06 * length)) continue;
    const double half = length / 2;
    out.corners_px[c] = lens ? photoPixel(*lens, corner) : corner;
    out.sigma_px[c] = std::sqrt(
        (before.offset_sigma * before.offset_sigma + after.offset_sigma * after.offset_sigma) / 2 +
        half * half *
            (before.slope_sigma * before.slope_sigma + after.slope_sigma * after.slope_sigma) / 2);
    out.sigma_px[c] = std::max(out.sigma_px[c], 1e-3);
  }
  out.blur_px = std::max(pair[0], pair[1]);
  return out;
}

}  // namespace holdshelf
