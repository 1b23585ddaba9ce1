// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <array>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <vector>

#include "mesh/progress.h"
#include "mesh/texture_cells.h"
#include "mesh/triangle_mesh.h"
#include "proto/capture_report.pb.h"
#include "proto/mat.pb.h"

namespace holdshelf {

/// How much work to spend: draft answers "is the capture any good", fine squeezes the photos.
enum class Quality { Draft, Normal, Fine };

struct RebuildOptions {
  // Affect results.
  double mat_scale = 1;  ///< True length over nominal length of the printed mat.
  /// Takes the scale from the sheet's own edges where they lie in view, fit a standard size in both
  /// directions alike, and say that the print is off by more than sheets are cut to; a warning says
  /// so. Only with mat_scale 1.
  bool scale_from_sheet = false;
  Quality quality = Quality::Normal;

  // Known cameras instead of a mat (capture/cameras_file.h).
  std::optional<std::filesystem::path> cameras_file;
  double cameras_unit_mm = 1;                 ///< Length of the file's unit: 1000 for metres.
  std::optional<Eigen::AlignedBox3d> box_mm;  ///< Bounds of the object, frame of the cameras.

  // Affects speed.
  /// Where finished stages are kept and looked for: a rebuild that was interrupted, or is asked for
  /// again with the same photos, goes on from there. Empty: nothing is kept.
  std::filesystem::path stages_folder;
};

/// A hold rebuilt from photos. Mesh in frame H (hold), mm, watertight, closed at z = 0.
struct Rebuilt {
  TriangleMesh mesh;  ///< With normals, colours, sigma and guesswork.
  CaptureReport report;
  TextureCells texture;  ///< How much fine texture the photos show; without cells: too coarse.
  std::vector<std::uint8_t> contact_sheet_png;
  std::vector<std::uint8_t> thumbnail_png;
  std::array<double, 3> colour_srgb{};  ///< Median of the hold, white-corrected, 0 to 1.
};

/// Photos in, hold out: reads the photos, calibrates camera and poses from the mat (or takes them
/// from the cameras file), finds the hold, and rebuilds its surface.
///
/// @param photos  JPEG or PNG files; what is unusable is refused in the report, the rest goes on.
/// @param mat     The mat in the photos; nullopt only with options.cameras_file.
/// @throws BadInput     Nothing can be rebuilt; the sentence says why and what to reshoot.
/// @throws Interrupted  progress returned false.
Rebuilt rebuild(const std::vector<std::filesystem::path>& photos, const std::optional<Mat>& mat,
                const RebuildOptions& options, const Progress& progress);

}  // namespace holdshelf
