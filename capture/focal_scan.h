// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <optional>
#include <vector>

#include "capture/camera.h"
#include "capture/corner_sighting.h"

namespace holdshelf {

// Where the bundle (capture/mat_bundle.h) starts from when nothing is known: the mat taken for
// flat, a camera without distortion.

using SeenByPhoto = std::vector<std::vector<const CornerSighting*>>;
/// The sightings in use, by photo; they must outlive it.
SeenByPhoto groupByPhoto(const std::vector<CornerSighting>& sightings, int photos);

/// T_camera_mat of one photo under a camera; nullopt when there are too few corners or no pose
/// fits.
/// @param layout_mm  The mat's corners, frame M.
/// @param median_px  If not null: the median distance between corners as seen and as posed.
/// Source: Collins, Bartoli, "Infinitesimal Plane-Based Pose Estimation", IJCV 2014 (OpenCV's).
std::optional<Eigen::Isometry3d> planarPose(const std::vector<Eigen::Vector2d>& layout_mm,
                                            const std::vector<const CornerSighting*>& seen,
                                            const CameraModel& camera, double* median_px);

/// The focal length whose planar poses fit the photos best: a scan in steps of 6 %, scored by the
/// median over up to 16 photos.
/// @param guess_px  As recorded in the photos; 0: unknown.
/// @throws BadInput  None explains the corners.
CameraModel scanFocal(const std::vector<Eigen::Vector2d>& layout_mm, int width_px, int height_px,
                      const SeenByPhoto& seen, double guess_px);

}  // namespace holdshelf
