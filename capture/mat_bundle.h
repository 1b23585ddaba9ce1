// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <optional>
#include <vector>

#include "capture/camera.h"
#include "capture/corner_sighting.h"

namespace holdshelf {

/// One camera, all poses and the mat's shape, as adjusted. Frame A (adjusted mat): the mat's own
/// frame up to the similarity that fits the adjusted corners best onto the nominal ones, so lengths
/// are those of the nominal layout given.
struct MatBundle {
  CameraModel camera;
  std::vector<Eigen::Isometry3d> T_camera_A;  ///< One a photo.
  std::vector<bool> posed;                    ///< Photos that have a pose.
  std::vector<Eigen::Vector3d> corners_A_mm;  ///< Adjusted corners, the paper's bend and all.
  std::vector<int> seen;                      ///< Photos in which each corner was used.
  double rms_px = 0;                          ///< sqrt(mean |residual|^2) over the used corners.
  double focal_sigma_px = 0;                  ///< Standard uncertainty of fx.
  double scale_sigma_rel = 0;                 ///< Of lengths, from the layout's own scatter.
  bool converged = false;
};

/// Where to start from, and what is never thrown out.
struct BundleOptions {
  std::optional<MatBundle> start;  ///< An earlier bundle with as many photos; skips the focal scan.
  double focal_guess_px = 0;       ///< From EXIF; 0: unknown.
  bool uncertainty = true;         ///< Compute focal_sigma_px.
  double minimum_outlier_px = 1;   ///< Corners within this are never outliers.
};

/// Calibrates one camera and its poses from a mat that may be bent: bundle adjustment over
///   sum rho(|project(camera, T_p X_c) - px|^2 / sigma^2) + priors
/// with Cauchy's rho. Free: fx, fy, cx, cy, k1, k2, k3, p1, p2, all poses, all corners. Priors keep
/// what the photos do not support near its usual value: the principal point near the middle (3 % of
/// the width), fx near fy (1 %), distortion near 0 (k1 0.3, k2 0.3, k3 0.2, p 0.003); corners near
/// their nominal place in the plane (0.3 mm) and near the plane (6 mm), the paper bending smoothly:
/// a marker stays flat to 0.05 mm in twist, and neighbours follow its tangent plane as a radius of
/// curvature of 400 mm allows. Starts from a scan over focal lengths with planar poses (IPPE), so
/// photos that all look down at one angle are enough.
///
/// @param corners_M_mm  The layout, frame M, true millimetres.
/// @param sightings     Cleared of outliers (used = false) on return.
/// @throws BadInput  No focal length explains the corners.
///
/// Sources: Triggs, McLauchlan, Hartley, Fitzgibbon, "Bundle Adjustment - A Modern Synthesis",
/// 2000; Collins, Bartoli, "Infinitesimal Plane-Based Pose Estimation", IJCV 2014; Strobl,
/// Hirzinger, "More Accurate Pinhole Camera Calibration with Imperfect Planar Target", ICCV
/// Workshops 2011; Umeyama, IEEE PAMI 13(4), 1991 (the similarity).
MatBundle adjustMatBundle(const std::vector<Eigen::Vector2d>& corners_M_mm, int width_px,
                          int height_px, int photos, std::vector<CornerSighting>& sightings,
                          const BundleOptions& options);

/// Residuals in pixels of the sightings (infinite where the photo has no pose).
std::vector<double> bundleResiduals_px(const MatBundle& bundle,
                                       const std::vector<CornerSighting>& sightings);

}  // namespace holdshelf
