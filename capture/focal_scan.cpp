// SPDX-License-Identifier: Apache-2.0
#include "capture/focal_scan.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <opencv2/calib3d.hpp>

#include "mesh/bad_input.h"

namespace holdshelf {

SeenByPhoto groupByPhoto(const std::vector<CornerSighting>& sightings, int photos) {
  SeenByPhoto seen(static_cast<size_t>(photos));
  for (const auto& s : sightings)
    if (s.used) seen[static_cast<size_t>(s.photo)].push_back(&s);
  return seen;
}

std::optional<Eigen::Isometry3d> planarPose(const std::vector<Eigen::Vector2d>& layout_mm,
                                            const std::vector<const CornerSighting*>& seen,
                                            const CameraModel& camera, double* median_px) {
  if (seen.size() < 4) return std::nullopt;
  std::vector<cv::Point3d> points;
  std::vector<cv::Point2d> pixels;
  for (const auto* s : seen) {
    const auto& X = layout_mm[static_cast<size_t>(s->corner)];
    const Eigen::Vector3d ray = camera.ray(s->px);
    points.emplace_back(X.x(), X.y(), 0);
    pixels.emplace_back(ray.x(), ray.y());
  }
  std::vector<cv::Mat> rvecs, tvecs;
  cv::Mat errors;
  const cv::Mat identity = cv::Mat::eye(3, 3, CV_64F);
  try {
    if (cv::solvePnPGeneric(points, pixels, identity, cv::noArray(), rvecs, tvecs, false,
                            cv::SOLVEPNP_IPPE, cv::noArray(), cv::noArray(), errors) < 1)
      return std::nullopt;
    cv::solvePnPRefineLM(points, pixels, identity, cv::noArray(), rvecs[0], tvecs[0]);
  } catch (const cv::Exception&) {
    return std::nullopt;
  }
  Eigen::Isometry3d pose = Eigen::Isometry3d::Identity();
  const Eigen::Vector3d r(rvecs[0].at<double>(0), rvecs[0].at<double>(1), rvecs[0].at<double>(2));
  if (r.norm() > 0) pose.linear() = Eigen::AngleAxisd(r.norm(), r.normalized()).matrix();
  pose.translation() << tvecs[0].at<double>(0), tvecs[0].at<double>(1), tvecs[0].at<double>(2);
  if (!pose.matrix().allFinite() || pose.translation().z() <= 0) return std::nullopt;
  std::vector<double> errors_px;
  for (const auto* s : seen) {
    const auto& X = layout_mm[static_cast<size_t>(s->corner)];
    const auto px = camera.project(pose * Eigen::Vector3d(X.x(), X.y(), 0));
    errors_px.push_back(px ? (*px - s->px).norm() : 1e6);
  }
  // The median, so that one false marker does not speak for the photo.
  std::nth_element(errors_px.begin(), errors_px.begin() + static_cast<long>(errors_px.size() / 2),
                   errors_px.end());
  if (median_px) *median_px = errors_px[errors_px.size() / 2];
  return pose;
}

CameraModel scanFocal(const std::vector<Eigen::Vector2d>& layout_mm, int width_px, int height_px,
                      const SeenByPhoto& seen, double guess_px) {
  CameraModel best;
  double best_score = std::numeric_limits<double>::infinity();
  const double longest = std::max(width_px, height_px);
  const size_t stride = std::max<size_t>(1, seen.size() / 16);
  for (double f = 0.45 * longest; f < 6 * longest; f *= 1.06) {
    CameraModel camera{width_px, height_px, f, f, (width_px - 1) / 2.0, (height_px - 1) / 2.0};
    std::vector<double> scores;
    for (size_t p = 0; p < seen.size(); p += stride) {
      double score = 0;
      if (planarPose(layout_mm, seen[p], camera, &score)) scores.push_back(score);
    }
    if (scores.empty()) continue;
    std::nth_element(scores.begin(), scores.begin() + static_cast<long>(scores.size() / 2),
                     scores.end());
    // A recorded focal length breaks the tie where the photos say little.
    const double off = guess_px > 0 ? std::log(f / guess_px) / 0.3 : 0;
    const double score = scores[scores.size() / 2] * (1 + 0.2 * off * off) + 1e-3 * off * off;
    if (score < best_score) best_score = score, best = camera;
  }
  if (!(best_score < 0.02 * longest))
    throw BadInput(
        "The markers found do not form the mat as described; check that the mat file belongs to "
        "the printed mat.");
  return best;
}

}  // namespace holdshelf
