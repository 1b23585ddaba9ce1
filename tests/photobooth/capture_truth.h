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

/// Brings a mesh in the hold frame of a rebuild into the frame of the truth: the inverse of the
/// report's T_hold_mat along the wall. Heights stay the rebuild's own, since the truth's z = 0 is
/// the table, as the rebuild's is meant to be, and not the mean of the paper, which lies over it in
/// places. Identity for an empty path.
/// @throws std::runtime_error  Not to be read, or without T_hold_mat.
Eigen::Isometry3d truthFromReport(const CaptureReport& report);
Eigen::Isometry3d truthFromReport(const std::filesystem::path& report);

/// @throws std::runtime_error  Not to be read.
CaptureReport readReport(const std::filesystem::path& file);

/// Median over the cameras of a pixel's size at the hold, mm.
double pixelSize_mm(const CaptureReport& report);

/// What convergent photos allow one point, as a standard uncertainty, mm: q S sigma_px / sqrt(k)
/// with the scale number S in mm a pixel, q = 0.6 (middle of a strong ring's 0.4 to 0.8), k = 1,
/// after Fraser CS, "Network design considerations for non-topographic photogrammetry", Photogramm
/// Eng Remote Sens 50(8), 1984, 1157-1168 (q from memory); sigma_px is the capture's own, from its
/// reprojection error (a 2D length, so over sqrt 2).
double precisionLimit_mm(const CaptureReport& report);

/// Writes a report as JSON, whole or not at all.
void writeReport(const std::filesystem::path& file, const CaptureReport& report);

}  // namespace holdshelf
