// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <vector>

#include "capture/depth_map.h"
#include "capture/view.h"

namespace holdshelf {

/// How the peer matches. First choices, as the libraries' own examples and common sense give them.
struct StereoOptions {
  int pairs_a_view = 2;        ///< Neighbours matched with each view: the nearest to `angle_deg`.
  double angle_deg = 12;       ///< Best angle between the lines of sight, seen from the hold.
  double least_angle_deg = 4;  ///< No pair nearer than this,
  double most_angle_deg = 30;  ///< or farther apart.
  int mode = 2;                ///< cv::StereoSGBM::MODE_SGBM_3WAY.
  int block_px = 5;            ///< Side of the matched block.
  int uniqueness_percent = 5;  ///< By how much the best match must beat the second.
  int speckle_px = 100;        ///< Smaller islands of disparity are dropped.
  int left_right_px = 1;       ///< Largest difference between both directions' disparities.
  double mask_shrink_px = 1;   ///< Depth this near to the outline is dropped: it is fattened.
};

/// The chain of libraries, first half: rectification (cv::remap), semi-global matching
/// (cv::StereoSGBM in its fast form of 3 directions) with its left-right check. One depth map a
/// pair, in the rectified left camera, cut to the hold; the range of disparities is that of the
/// box.
///
/// Source: Hirschmueller H, "Stereo processing by semiglobal matching and mutual information", PAMI
/// 30, 2008, as OpenCV does it; rectification after Fusiello A, Trucco E, Verri A, "A compact
/// algorithm for rectification of stereo pairs", 2000, which bears any direction of the baseline.
///
/// @param views   Undistorted, posed, masked; views without a mask take no part.
/// @param box_mm  Bounds of the hold, frame H.
std::vector<DepthMap> stereoDepth(const std::vector<View>& views, const Eigen::AlignedBox3d& box_mm,
                                  const StereoOptions& options);

}  // namespace holdshelf
