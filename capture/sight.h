// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <opencv2/core.hpp>
#include <optional>

#include "capture/view.h"
#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// Where a photo sees a point of the surface.
struct Seen {
  Eigen::Vector2d pixel;
  double cosine = 0;    ///< Of the angle between the normal and the line of sight.
  double pixel_mm = 0;  ///< Size of a pixel at the point's distance, square to the line of sight.
};

/// Which points of a mesh a photo sees: not turned away, not hidden, inside the picture. Keeps a
/// depth buffer at half size. Both arguments must outlive it.
class Sight {
 public:
  Sight(const View& view, const TriangleMesh& mesh);

  /// nullopt where the point is hidden, off the picture, or seen at a smaller cosine.
  std::optional<Seen> of(const Eigen::Vector3d& point_H_mm, const Eigen::Vector3d& normal,
                         double least_cosine) const;

 private:
  const View& view_;
  Eigen::Vector3d eye_H_mm_;
  double scale_;
  cv::Mat nearest_;
};

}  // namespace holdshelf
