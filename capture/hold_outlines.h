// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <optional>

#include "capture/calibrate.h"
#include "mesh/progress.h"
#include "proto/mat.pb.h"

namespace holdshelf {

/// What the photos show besides the hold.
struct OutlineScene {
  std::optional<Mat> mat;                     ///< nullopt: known cameras, no floor.
  std::optional<Eigen::AlignedBox3d> box_mm;  ///< Bounds of the hold where they are known, frame H.
};

/// Fills the masks of a capture's views (silhouette.h). Photos whose outline is at odds with the
/// others leave the views, and the report says why; where the hold was pushed half way
/// (hold_shift.h), so do those of the smaller side. Warnings speak of the light on the hold.
///
/// @throws BadInput     The hold is found in too few photos; or it was pushed and neither side has
/// 8;
///                      or something covers a side of the mat and cannot be told from the hold.
/// @throws Interrupted  progress returned false.
void findOutlines(CalibratedCapture& capture, const OutlineScene& scene, const Progress& progress);

}  // namespace holdshelf
