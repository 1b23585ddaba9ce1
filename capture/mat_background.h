// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <cstdint>
#include <opencv2/core.hpp>
#include <optional>
#include <vector>

#include "capture/view.h"
#include "proto/mat.pb.h"

namespace holdshelf {

/// What the mat shows at a point of the sheet.
enum class MatInk : std::uint8_t {
  None = 0,   ///< Not on the sheet.
  White = 1,  ///< Bare paper.
  Black = 2,  ///< Inside a black cell.
  Edge = 3    ///< So near to a change of ink that blur decides.
};

/// The mat as it lies: its pattern, drawn where the markers' corners were measured, on a surface
/// that follows their heights. Frame H, mm.
class MatBackground {
 public:
  MatBackground(const Mat& mat, const std::vector<Eigen::Vector3d>& mat_points_H_mm);

  /// Where a ray from `centre` along `direction` meets the paper's surface, or nullopt if it points
  /// up or runs along it.
  std::optional<Eigen::Vector2d> meet(const Eigen::Vector3d& centre,
                                      const Eigen::Vector3d& direction) const;

  MatInk ink(const Eigen::Vector2d& point) const;

  /// The middle of the sheet and half its larger side, mm: for centred coordinates.
  Eigen::Vector2d middle() const { return (low_ + high_) / 2; }
  double halfSize() const { return (high_ - low_).maxCoeff() / 2; }
  Eigen::Vector2d low() const { return low_; }
  Eigen::Vector2d high() const { return high_; }

 private:
  double height(const Eigen::Vector2d& point) const;

  Eigen::Vector2d low_, high_;  // Of the part of the sheet that is surely paper.
  cv::Mat ink_;                 // CV_8UC1, values of MatInk.
  cv::Mat height_;              // CV_32FC1, coarse.
};

/// The light on the mat in one photo: the linear value of white paper at each point of the sheet,
/// the exponential of a quadratic per channel, and how well it fits.
struct PaperLight {
  Eigen::Matrix<double, 6, 3> log_white;  ///< Columns R, G, B; rows 1, x, y, x^2, x y, y^2.
  double log_sigma = 0.03;                ///< Robust spread of paper about it.
  double black = 0.1;                     ///< Reflectance of black ink relative to white.
  Eigen::Vector2d middle = Eigen::Vector2d::Zero();
  double half_size = 1;

  /// Linear R, G, B of white; points beyond the sheet get the value of its nearest point.
  Eigen::Vector3f white(const Eigen::Vector2d& point) const;
};

/// Fits the light from the paper seen in a photo: robust against shadows, the hold in front and
/// whatever else is darker or brighter than the paper. nullopt: too little paper in view.
std::optional<PaperLight> fitPaperLight(const View& view, const MatBackground& mat);

}  // namespace holdshelf
