// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <array>
#include <opencv2/core.hpp>

namespace holdshelf {

inline constexpr int kPatchSamples = 48;  ///< 7 by 7 without the centre.
inline constexpr int kMostPatchViews = 8;
inline constexpr int kPatchOffsets = 7;  ///< Tried along the normal, evenly over +-reach.

/// Where the views of a patch agree best.
struct PatchPeak {
  double offset_mm = 0;     ///< Along the normal, between the tried offsets by a parabola.
  double correlation = -1;  ///< Weighted mean pairwise correlation there.
  double curvature = 0;     ///< -d2c/dd2 at the peak, 1/mm^2; 0: the peak is at the reach's end.
  int views = 0;            ///< That take part.
};

/// Samples one bent surface patch in several views at several offsets along its normal.
class PatchSampler {
 public:
  /// @param spacing_mm  Distance of neighbouring samples on the surface.
  /// @param bend        a, b, c of the patch's height (a x^2 + 2 b x y + c y^2) / 2, 1/mm.
  PatchSampler(double spacing_mm, const Eigen::Vector3d& bend, double reach_mm);

  /// @param centre_px  Where the patch's centre is seen.
  /// @param along      2 by 3: image motion per mm along the two tangents and the normal.
  /// @param weight     How much the view counts, e.g. its cosine.
  void addView(const cv::Mat_<float>& grey, const Eigen::Vector2d& centre_px,
               const Eigen::Matrix<double, 2, 3>& along, double weight);

  /// Views that disagree with the rest at the best offset lose their say, then the peak is sought
  /// again.
  PatchPeak best();

 private:
  struct Scores {
    std::array<double, kPatchOffsets> c;
    int peak;
  };
  Scores score() const;
  void reweight(int offset);
  double offsetMm(int k) const;

  double reach_mm_;
  int views_ = 0;
  std::array<double, kMostPatchViews> weight_{};
  alignas(64) float x_[kPatchSamples], y_[kPatchSamples], height_[kPatchSamples];
  alignas(64) float samples_[kPatchOffsets][kMostPatchViews][kPatchSamples];
};

}  // namespace holdshelf
