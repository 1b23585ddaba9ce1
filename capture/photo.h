// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <filesystem>
#include <opencv2/core.hpp>
#include <optional>
#include <string>
#include <vector>

namespace holdshelf {

/// The eight EXIF orientations: how the stored raster is turned to stand upright (EXIF 2.3, tag
/// 0x0112). 1: as stored; 3: half turn; 6: a quarter turn clockwise; 8: anticlockwise; the even
/// ones mirrored.
using Orientation = int;

/// A photo as the camera wrote it, upright, never altered otherwise.
struct Photo {
  std::string name;              ///< File name without its folder, for messages.
  cv::Mat bgr;                   ///< CV_8UC3, sRGB values, upright.
  Orientation orientation = 1;   ///< Turned from the stored raster by this.
  std::uint64_t pixel_hash = 0;  ///< Of the upright pixels: the same picture twice is noticed.
  std::optional<double> focal_35mm_mm;  ///< Focal length in 35 mm film equivalent, where recorded.
  std::string camera;                   ///< Maker and model, or empty.
};

/// Largest picture that is read: above, a header is taken for damaged or hostile (300 MB of
/// pixels).
inline constexpr std::int64_t kMaxPhotoPixels = 100'000'000;

/// Reads a JPEG or PNG file. The EXIF block of either is respected.
/// Takes bounded time and memory whatever the file holds: photos from outside are read by nothing
/// else.
/// @throws BadInput  Missing, unreadable, not JPEG or PNG, truncated or damaged, too large, or a
///                   JPEG of more than 500 scans: a truncated one is an error, not a grey half
///                   picture.
Photo readPhoto(const std::filesystem::path& file);

/// Names for the photos in messages and records, all different: the file name, or the whole path as
/// given where files in several folders share a name.
std::vector<std::string> photoNames(const std::vector<std::filesystem::path>& files);

/// Turns an upright picture back into the stored raster of its orientation, then upright as if it
/// had the orientation `as`: so photos from one sensor share one camera however the phone was held.
cv::Mat reorient(const cv::Mat& upright, Orientation stored, Orientation as);

/// Focal length in pixels that a 35 mm equivalent stands for: equal angle over the diagonal
/// (CIPA DCG-001), the 36 x 24 mm frame's being 43.267 mm.
double focalPixels(double focal_35mm_mm, int width_px, int height_px);

}  // namespace holdshelf
