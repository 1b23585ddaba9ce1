// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "mesh/progress.h"
#include "tests/photobooth/camera_rig.h"
#include "tests/photobooth/mat_sheet.h"
#include "tests/photobooth/sensor.h"
#include "tests/photobooth/stage.h"
#include "tests/shapes/holds.h"

namespace holdshelf {

/// Everything that makes one capture. The same options give the same files.
struct BoothOptions {
  int width_px = 1600, height_px = 1200;
  double field_of_view_deg = 62;  ///< Horizontal.
  double fill = 0.5;              ///< The hold's extent over the picture's height.
  RigOptions rig;                 ///< Target and distance are set from the hold and `fill`.
  MatSheet::Options mat;
  StageOptions stage;
  Lens lens;
  SensorOptions sensor;
  double exposure_wobble = 0.06;  ///< Standard deviation, relative, from photo to photo.
  int jpeg_quality = 92;
  std::uint32_t seed = 1;

  // What may go wrong (mishap.h has names for these). Photos count from 0; -1: never.
  int nudged_from = -1;  ///< From this photo on the hold has moved by T_nudge on the mat.
  Eigen::Isometry3d T_nudge = Eigen::Isometry3d::Identity();
  int blurred_every = 0;        ///< Every n-th photo is shaken.
  int second_camera_from = -1;  ///< From here on another field of view, maybe picture size.
  double second_field_of_view_deg = 62;
  int second_width_px = 0, second_height_px = 0;  ///< 0: as the first.
  std::optional<Guest> guest;                     ///< Lies on the mat in photos [from, to).
  int guest_from = 0, guest_to = 0;
  std::optional<MatSheet::Options> mat_in_file;  ///< Described in mat.json instead of the true one.
  bool shuffled = false;
  bool moving_background = false;
};

/// Photographs a hold and writes into a folder, which must not exist yet and appears whole:
/// photo_001.jpg ..., mat.json (Mat), truth_cameras.json (one PhotoCamera a photo; the mat frame is
/// the hold frame), truth.ply (the exact shape's triangles), truth.json (its known dimensions and
/// where the paper's corners really were).
/// @throws std::runtime_error  The folder exists or cannot be written.
void photograph(const ExactHold& hold, const BoothOptions& options,
                const std::filesystem::path& folder, const Progress& progress);

}  // namespace holdshelf
