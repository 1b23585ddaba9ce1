// SPDX-License-Identifier: Apache-2.0
#include "capture/photo_look.h"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <opencv2/calib3d.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "capture/camera.h"
#include "capture/mat_photo.h"
#include "capture/photo_checks.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr double kUsualFocal_35mm = 26;
constexpr int kJpegQuality = 80;

std::vector<std::uint8_t> smallPicture(const cv::Mat& bgr, int longer_px) {
  const double factor =
      std::min(1.0, longer_px / static_cast<double>(std::max(bgr.cols, bgr.rows)));
  cv::Mat small;
  // A strip keeps a row, or a column, of pixels.
  const cv::Size size(std::max(1, static_cast<int>(std::lround(bgr.cols * factor))),
                      std::max(1, static_cast<int>(std::lround(bgr.rows * factor))));
  cv::resize(bgr, small, size, 0, 0, cv::INTER_AREA);
  std::vector<std::uint8_t> bytes;
  cv::imencode(".jpg", small, bytes, {cv::IMWRITE_JPEG_QUALITY, kJpegQuality});
  return bytes;
}

/// Sets where the photo was taken from, if the markers tell.
void findPlace(const MatPhoto& photo, const Mat& mat, PhotoLook& look) {
  std::vector<cv::Point3d> points;
  std::vector<cv::Point2d> pixels;
  cv::Point3d middle;
  for (const Marker& marker : mat.markers())
    for (const MatPoint& corner : marker.corners())
      middle += cv::Point3d(corner.x(), corner.y(), 0) / (4.0 * mat.markers_size());
  for (const MarkerSighting& seen : photo.markers)
    for (int i = 0; i < 4; ++i) {
      const MatPoint& corner = mat.markers(seen.marker).corners(i);
      const Eigen::Vector2d& px = seen.corners_px[static_cast<std::size_t>(i)];
      points.emplace_back(corner.x(), corner.y(), 0);
      pixels.emplace_back(px.x(), px.y());
    }
  if (points.size() < 4) return;
  const int w = photo.photo.bgr.cols, h = photo.photo.bgr.rows;
  const double f = focalPixels(photo.photo.focal_35mm_mm.value_or(kUsualFocal_35mm), w, h);
  const cv::Matx33d camera(f, 0, (w - 1) / 2.0, 0, f, (h - 1) / 2.0, 0, 0, 1);
  cv::Vec3d turn, shift;
  try {
    if (!cv::solvePnP(points, pixels, camera, cv::noArray(), turn, shift, false, cv::SOLVEPNP_IPPE))
      return;
  } catch (const cv::Exception&) {
    return;  // All on one line, say.
  }
  cv::Matx33d rotation;
  cv::Rodrigues(turn, rotation);
  const cv::Vec3d eye = -(rotation.t() * shift);
  const Eigen::Vector3d from(eye[0] - middle.x, eye[1] - middle.y, eye[2]);
  if (!from.allFinite() || from.z() <= 0) return;
  look.set_posed(true);
  look.set_azimuth_deg(azimuth_deg(from));
  look.set_elevation_deg(elevation_deg(from));
}

/// The reason without the file's name or path in front of it, which mean nothing to who sent the
/// photo.
std::string spoken(const std::string& reason, const std::filesystem::path& file) {
  const std::string name = file.filename().string() + " ", path = file.string() + ": ";
  for (const std::string& subject : {name, file.string() + " "})
    if (reason.starts_with(subject)) return "It " + reason.substr(subject.size());
  if (!reason.starts_with(path)) return reason;
  std::string said = reason.substr(path.size());
  if (!said.empty()) said[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(said[0])));
  return said;
}

}  // namespace

LookedAt lookAtPhoto(const std::filesystem::path& file, const Mat& mat, int picture_px) {
  LookedAt looked;
  PhotoLook& look = looked.look;
  look.set_markers_in_all(mat.markers_size());
  PhotoSet one;
  one.photos.resize(1);
  one.reports.resize(1);
  MatPhoto& photo = one.photos[0];
  try {
    photo.photo = readPhoto(file);
  } catch (const BadInput& error) {
    look.set_sentence(spoken(error.what(), file));
    return looked;
  }
  looked.picture_jpeg = smallPicture(photo.photo.bgr, picture_px);
  look.set_width_px(photo.photo.bgr.cols);
  look.set_height_px(photo.photo.bgr.rows);
  findMat(photo, mat);
  look.set_markers_found(static_cast<int>(photo.markers.size()));
  findPlace(photo, mat, look);
  PhotoReport& report = one.reports[0];
  report.set_photo(photo.photo.name);
  report.set_verdict(PhotoReport::USED);
  report.set_markers_found(look.markers_found());
  refuseWithoutMat(one, mat);
  refuseBlurredAndBurnt(one);
  look.set_edge_width_px(report.sharpness());
  look.set_usable(one.used(0));
  if (report.verdict() == PhotoReport::BLURRED)
    look.set_sentence("It is blurred: edges are " + rounded(report.sharpness()) +
                      " px wide; hold still or give more light.");
  else if (!look.usable())
    look.set_sentence(spoken(report.reason(), file));
  return looked;
}

}  // namespace holdshelf
