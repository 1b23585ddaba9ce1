// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "capture/view.h"
#include "mesh/triangle_mesh.h"
#include "proto/capture_report.pb.h"

namespace holdshelf {

struct ContactSheetOptions {
  std::string title = "Hold";
  /// The photos as given: pictures of the refused ones are read from here; without, they are shown
  /// as an empty frame with the reason.
  std::vector<std::filesystem::path> photo_files;
  int columns = 6;    ///< Of photos.
  int tile_px = 316;  ///< Width of one photo.
};

/// One PNG that shows at a glance what was rebuilt: the mesh from four sides and from above, where
/// it is guesswork, a scale bar, the key figures in words, and all photos, cut to the hold, with
/// the mesh's outline drawn over them; refused ones with the reason.
///
/// @param mesh    Frame H, mm; colours and guesswork are used where there are any.
/// @param views   The photos used, posed in the mesh's frame.
/// @param report  Of the capture: the figures and the refused photos.
std::vector<std::uint8_t> contactSheetPng(const TriangleMesh& mesh, const std::vector<View>& views,
                                          const CaptureReport& report,
                                          const ContactSheetOptions& options = {});

}  // namespace holdshelf
