// SPDX-License-Identifier: Apache-2.0
#include "capture/mat_photo.h"

#include <algorithm>
#include <opencv2/aruco/dictionary.hpp>
#include <opencv2/imgproc.hpp>

#include "capture/edge_line.h"
#include "capture/mat_file.h"

namespace holdshelf {
namespace {

/// Share of pixels at 254 or 255 within the hull of the markers.
double clippedShare(const cv::Mat& grey, const std::vector<MarkerSighting>& markers) {
  std::vector<cv::Point> corners, hull;
  for (const auto& m : markers)
    for (const auto& p : m.corners_px) corners.emplace_back(cvRound(p.x()), cvRound(p.y()));
  if (corners.empty()) return 0;
  cv::convexHull(corners, hull);
  cv::Mat inside = cv::Mat::zeros(grey.size(), CV_8UC1);
  cv::fillConvexPoly(inside, hull, 255);
  const double area = cv::countNonZero(inside);
  return area > 0 ? cv::countNonZero((grey >= 254) & inside) / area : 0;
}

void fitEdges(MatPhoto& photo, const Mat& mat, const CameraModel* lens) {
  const cv::Mat linear = linearLight(photo.photo.bgr);
  photo.edges.clear();
  for (const auto& m : photo.markers)
    photo.edges.push_back(refineMarker(linear, m.corners_px, cellsAlong(mat), lens));
}

}  // namespace

double MatPhoto::blur_px() const {
  std::vector<double> blurs;
  for (const auto& e : edges)
    if (e.blur_px > 0) blurs.push_back(e.blur_px);
  if (blurs.empty()) return 8;
  const auto at = blurs.begin() + static_cast<std::ptrdiff_t>(3 * blurs.size() / 4);
  std::nth_element(blurs.begin(), at, blurs.end());
  return *at;
}

int cellsAlong(const Mat& mat) {
  return cv::aruco::getPredefinedDictionary(dictionaryNumber(mat.dictionary()))->markerSize + 2;
}

void findMat(MatPhoto& photo, const Mat& mat) {
  cv::Mat grey;
  cv::cvtColor(photo.photo.bgr, grey, cv::COLOR_BGR2GRAY);
  photo.markers = detectMarkers(grey, mat);
  photo.clipped = clippedShare(grey, photo.markers);
  fitEdges(photo, mat, nullptr);
}

void refindMat(MatPhoto& photo, const Mat& mat, const PosedCamera& camera_A,
               const std::vector<Eigen::Vector3d>& corners_A_mm) {
  photo.markers = expectedMarkers(camera_A, corners_A_mm);
  fitEdges(photo, mat, &camera_A.model);
}

}  // namespace holdshelf
