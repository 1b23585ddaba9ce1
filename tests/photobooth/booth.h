// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
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
};

/// Photographs a hold and writes into a folder, which must not exist yet and appears whole:
/// photo_001.jpg ..., mat.json (Mat), truth_cameras.json (one PhotoCamera a photo; the mat frame is
/// the hold frame), truth.ply (the exact shape's triangles), truth.json (its known dimensions and
/// where the paper's corners really were).
/// @throws std::runtime_error  The folder exists or cannot be written.
void photograph(const ExactHold& hold, const BoothOptions& options,
                const std::filesystem::path& folder, const Progress& progress);

}  // namespace holdshelf
