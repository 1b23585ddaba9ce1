// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <vector>

#include "capture/marker_detection.h"
#include "capture/marker_edges.h"
#include "capture/photo.h"
#include "proto/mat.pb.h"

namespace holdshelf {

/// A photo and what it shows of the mat.
struct MatPhoto {
  Photo photo;
  std::vector<MarkerSighting> markers;
  std::vector<MarkerEdges> edges;  ///< One a marker.
  double clipped = 0;              ///< Share of the mat's area at 254 or 255.

  /// Gaussian sigma of the edges' blur, px: the upper quartile over the markers, so that blur at
  /// one side of the photo counts. 8 where no edge could be fitted.
  double blur_px() const;
};

/// Cells along a marker's side with its border: 8 for a 6 x 6 code.
int cellsAlong(const Mat& mat);

/// Finds the mat in the photo anew: markers, edges without knowledge of the lens, clipping.
void findMat(MatPhoto& photo, const Mat& mat);

/// Fits the edges again where a calibrated, posed camera expects the markers, also those that the
/// detector missed because the hold cuts them.
void refindMat(MatPhoto& photo, const Mat& mat, const PosedCamera& camera_A,
               const std::vector<Eigen::Vector3d>& corners_A_mm);

}  // namespace holdshelf
