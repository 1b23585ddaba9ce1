// SPDX-License-Identifier: Apache-2.0
#include "capture/marker_detection.h"

#include <map>
#include <opencv2/aruco.hpp>
#include <opencv2/imgproc.hpp>
#include <stdexcept>

#include "capture/mat_file.h"

namespace holdshelf {
namespace {

/// Pixels in which markers are searched; edges are refined in the full photo afterwards.
constexpr double kSearchPixels = 3.2e6;

cv::Ptr<cv::aruco::DetectorParameters> searchParameters() {
  auto parameters = cv::aruco::DetectorParameters::create();
  parameters->adaptiveThreshWinSizeMin = 5;
  parameters->adaptiveThreshWinSizeMax = 35;
  parameters->adaptiveThreshWinSizeStep = 15;
  parameters->minMarkerPerimeterRate = 0.025;
  parameters->cornerRefinementMethod = cv::aruco::CORNER_REFINE_NONE;
  return parameters;
}

}  // namespace

std::vector<MarkerSighting> detectMarkers(const cv::Mat& grey, const Mat& mat) {
  if (grey.type() != CV_8UC1) throw std::invalid_argument("detectMarkers: grey must be CV_8UC1");
  const double shrink = std::sqrt(std::max(1.0, static_cast<double>(grey.total()) / kSearchPixels));
  cv::Mat searched = grey;
  if (shrink > 1) cv::resize(grey, searched, {}, 1 / shrink, 1 / shrink, cv::INTER_AREA);
  std::vector<std::vector<cv::Point2f>> corners;
  std::vector<int> ids;
  cv::aruco::detectMarkers(searched,
                           cv::aruco::getPredefinedDictionary(dictionaryNumber(mat.dictionary())),
                           corners, ids, searchParameters());
  std::map<int, int> times_seen, index_of_id;
  for (int id : ids) ++times_seen[id];
  for (int m = 0; m < mat.markers_size(); ++m) index_of_id[mat.markers(m).id()] = m;

  std::vector<MarkerSighting> found;
  for (size_t i = 0; i < ids.size(); ++i) {
    const auto index = index_of_id.find(ids[i]);
    if (index == index_of_id.end() || times_seen[ids[i]] != 1) continue;
    MarkerSighting sighting;
    sighting.marker = index->second;
    // Pixel centres lie at whole numbers in either picture.
    for (size_t c = 0; c < 4; ++c)
      sighting.corners_px[c] = {(corners[i][c].x + 0.5) * shrink - 0.5,
                                (corners[i][c].y + 0.5) * shrink - 0.5};
    found.push_back(sighting);
  }
  std::sort(found.begin(), found.end(),
            [](const auto& a, const auto& b) { return a.marker < b.marker; });
  return found;
}

std::vector<MarkerSighting> expectedMarkers(const PosedCamera& camera_A,
                                            const std::vector<Eigen::Vector3d>& corners_A_mm) {
  std::vector<MarkerSighting> out;
  for (size_t m = 0; m + 3 < corners_A_mm.size(); m += 4) {
    MarkerSighting sighting;
    sighting.marker = static_cast<int>(m / 4);
    const CameraModel& camera = camera_A.model;
    bool inside = true;
    for (size_t c = 0; c < 4 && inside; ++c) {
      const auto px = camera_A.project(corners_A_mm[m + c]);
      inside = px && px->x() >= 0 && px->y() >= 0 && px->x() <= camera.width_px - 1 &&
               px->y() <= camera.height_px - 1;
      if (inside) sighting.corners_px[c] = *px;
    }
    if (inside) out.push_back(sighting);
  }
  return out;
}

}  // namespace holdshelf
