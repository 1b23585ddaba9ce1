// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <filesystem>
#include <string>
#include <vector>

#include "proto/capture_report.pb.h"

namespace holdshelf {

/// The shape's name in a photobooth capture's truth.json.
/// @throws std::runtime_error  Not to be read.
std::string shapeInCapture(const std::filesystem::path& folder);

/// The JPEG and PNG files of a folder, by name.
std::vector<std::filesystem::path> photosIn(const std::filesystem::path& folder);

/// Brings a mesh in the hold frame of a rebuild into the frame of the truth, which is the mat's:
/// the inverse of the report's T_hold_mat. Identity for an empty path.
/// @throws std::runtime_error  Not to be read, or without T_hold_mat.
Eigen::Isometry3d truthFromReport(const CaptureReport& report);
Eigen::Isometry3d truthFromReport(const std::filesystem::path& report);

/// Writes a report as JSON, whole or not at all.
void writeReport(const std::filesystem::path& file, const CaptureReport& report);

}  // namespace holdshelf
