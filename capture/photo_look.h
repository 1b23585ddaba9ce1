// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <filesystem>
#include <vector>

#include "proto/intake.pb.h"
#include "proto/mat.pb.h"

namespace holdshelf {

/// A photo looked at by itself, while others are still on their way.
struct LookedAt {
  PhotoLook look;
  std::vector<std::uint8_t> picture_jpeg;  ///< Small, upright, without EXIF.
};

/// Reads the photo and looks for the mat in it: whether it would be refused for that alone
/// (photo_checks.h; what only shows beside the others comes later), and from where it was taken.
/// The pose assumes the focal length that the camera wrote into the file, or else a phone's usual
/// one (26 mm in 35 mm terms; common, no source), no distortion and a flat mat: good to a few
/// degrees.
///
/// @param picture_px  Longer side of the small picture.
/// Never throws for a bad photo: that is what `look` says.
LookedAt lookAtPhoto(const std::filesystem::path& file, const Mat& mat, int picture_px = 480);

}  // namespace holdshelf
