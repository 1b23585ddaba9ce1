// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "capture/camera.h"
#include "capture/mat_in_view.h"
#include "capture/view.h"
#include "mesh/progress.h"
#include "proto/capture_report.pb.h"
#include "proto/mat.pb.h"

namespace holdshelf {

struct CalibrateOptions {
  double mat_scale = 1;    ///< True length over nominal length of the printed mat.
  int minimum_photos = 8;  ///< Fewer usable photos are no capture.
};

/// Calibrated, undistorted photos in frame H0: the mat's frame with the wall plane where the hold
/// stands as z = 0 (the mat is never quite flat), +z out of the paper, true millimetres.
struct CalibratedCapture {
  std::vector<PhotoReport> reports;  ///< Every photo given, in order.
  std::vector<View> views;           ///< The photos used, in order; pinhole, masks empty.
  int orientation = 1;         ///< How the photos are turned (photo.h), the same for all views.
  CameraModel lens;            ///< The one camera, distortion and all; unset with known cameras.
  double rms_px = 0;           ///< sqrt(mean |residual|^2) over all corners used.
  double focal_sigma_px = 0;   ///< Standard uncertainty of the focal length.
  double mat_scale = 1;        ///< As applied.
  double mat_bend_mm = 0;      ///< Largest |z| of a corner of the mat.
  double scale_sigma_rel = 0;  ///< Of lengths, were the nominal layout exact.
  double plane_sigma_mm = 0;   ///< Of the wall plane's height under the hold.
  MatInView mat_in_view;       ///< How much of the mat the photos show.
  std::vector<Eigen::Vector3d> mat_points_H_mm;  ///< Four a marker, in the mat's order.
  Eigen::Isometry3d T_hold_mat = Eigen::Isometry3d::Identity();  ///< H0 from the scaled mat frame.
  PaperCheck paper;
  std::vector<std::string> warnings;
  std::vector<StageTime> times;
};

/// Reads the photos, finds the mat in each, calibrates one camera and all poses, and undistorts.
/// Photos that are unreadable, twice the same, blurred, without enough of the mat, over-exposed or
/// at odds with the others are refused in the reports with a reason, and the rest go on. Photos of
/// another size than most are refused; photos turned by the phone (EXIF) share the camera of the
/// others.
///
/// @throws BadInput     The mat is no mat, or too few photos are usable: says what to reshoot.
/// @throws Interrupted  progress returned false.
CalibratedCapture calibrateCapture(const std::vector<std::filesystem::path>& photos, const Mat& mat,
                                   const CalibrateOptions& options, const Progress& progress);

/// The same from cameras that are known (capture/cameras_file.h), looked up by file name; frame H0
/// is the cameras' own. Nothing is measured, so rms and the mat's figures stay 0. Refused are
/// photos that are unreadable, twice the same, or without a camera in `cameras`.
/// @throws BadInput     Fewer than three photos with a camera.
/// @throws Interrupted  progress returned false.
CalibratedCapture knownCapture(const std::vector<std::filesystem::path>& photos,
                               const std::map<std::string, PosedCamera>& cameras,
                               const Progress& progress);

}  // namespace holdshelf
