// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <opencv2/core.hpp>
#include <vector>

#include "capture/view.h"
#include "mesh/triangle_mesh.h"
#include "proto/capture_report.pb.h"

namespace holdshelf {

/// A photo cut to the hold, with the outline of the rebuilt shape drawn over it (pink, at a quarter
/// of a pixel) and its name below; from how high it was taken, where the report says.
/// @param view    Undistorted, posed in the mesh's frame.
/// @param report  Of this photo, or nullptr.
cv::Mat photoTile(const TriangleMesh& mesh, const View& view, const PhotoReport* report,
                  cv::Size size);

/// A photo that was not used: faint and grey, with a cross and the reason.
/// @param files  The photos as given; without its file the tile is an empty frame.
cv::Mat refusedTile(const PhotoReport& report, const std::vector<std::filesystem::path>& files,
                    cv::Size size);

}  // namespace holdshelf
