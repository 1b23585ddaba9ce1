// SPDX-License-Identifier: Apache-2.0
#include "capture/rebuild_report.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <string>
#include <vector>

#include "capture/camera.h"
#include "capture/cameras_file.h"

namespace holdshelf {
namespace {

using Eigen::Vector3d;

void describeCameras(const CalibratedCapture& capture, const Vector3d& middle,
                     CaptureReport& report) {
  std::vector<double> azimuths;
  double lowest = 90, highest = -90;
  for (const View& view : capture.views) {
    *report.add_cameras() = toProto(view.photo, view.camera);
    const Vector3d d = view.camera.centre_H_mm() - middle;
    const double azimuth = azimuth_deg(d), elevation = elevation_deg(d);
    azimuths.push_back(azimuth);
    lowest = std::min(lowest, elevation);
    highest = std::max(highest, elevation);
    for (PhotoReport& photo : *report.mutable_photos())
      if (photo.photo() == view.photo) {
        photo.set_azimuth_deg(azimuth);
        photo.set_elevation_deg(elevation);
      }
  }
  std::sort(azimuths.begin(), azimuths.end());
  double gap = azimuths.empty() ? 360 : azimuths.front() + 360 - azimuths.back();
  for (size_t i = 1; i < azimuths.size(); ++i) gap = std::max(gap, azimuths[i] - azimuths[i - 1]);
  report.set_largest_azimuth_gap_deg(gap);
  report.set_lowest_elevation_deg(lowest);
  report.set_highest_elevation_deg(highest);
}

/// What to reshoot, from where the cameras stood and what stayed guesswork.
void advise(CaptureReport& report, bool on_wall) {
  const auto number = [](double v) { return std::to_string(static_cast<int>(std::lround(v))); };
  if (on_wall && report.largest_azimuth_gap_deg() > 45)
    report.add_advice("No photo from " + number(report.largest_azimuth_gap_deg()) +
                      " degrees of the way round: turn in smaller steps, 30 degrees at most.");
  if (on_wall && report.lowest_elevation_deg() > 30)
    report.add_advice("No photo from below " + number(report.lowest_elevation_deg()) +
                      " degrees: undercut and incut faces are unseen; add a low ring at about 15 "
                      "degrees.");
  if (on_wall && report.highest_elevation_deg() < 45)
    report.add_advice("No photo from above " + number(report.highest_elevation_deg()) +
                      " degrees: add a high ring at about 60 degrees for the top and the bolt "
                      "seat.");
  if (report.guesswork_share() > 0.1)
    report.add_advice(number(100 * report.guesswork_share()) +
                      " % of the surface was seen by fewer than two good photos and is a guess; "
                      "see the contact sheet for where.");
}

/// Median uncertainty of what was measured, and the share of the area that is guesswork; the back
/// on the wall counts for neither.
void describeSurface(const TriangleMesh& mesh, CaptureReport& report) {
  std::vector<float> sigmas;
  double area = 0, guessed = 0;
  for (const Eigen::Vector3i& t : mesh.triangles) {
    const Vector3d &a = mesh.vertices_mm[t[0]], &b = mesh.vertices_mm[t[1]],
                   &c = mesh.vertices_mm[t[2]];
    if (a.z() < 1e-9 && b.z() < 1e-9 && c.z() < 1e-9) continue;
    const double twice = (b - a).cross(c - a).norm();
    const int guesses = mesh.guesswork[t[0]] + mesh.guesswork[t[1]] + mesh.guesswork[t[2]];
    area += twice;
    guessed += twice * guesses / 3;
    if (guesses == 0) sigmas.push_back(mesh.sigma_mm[t[0]]);
  }
  if (area > 0) report.set_guesswork_share(guessed / area);
  if (sigmas.empty()) return;
  std::nth_element(sigmas.begin(), sigmas.begin() + sigmas.size() / 2, sigmas.end());
  report.set_precision_mm(sigmas[sigmas.size() / 2]);
}

}  // namespace

CaptureReport reportOf(const CalibratedCapture& capture, const TriangleMesh& mesh, bool on_wall) {
  CaptureReport report;
  report.set_program_version(HOLDSHELF_VERSION);
  for (const PhotoReport& photo : capture.reports) *report.add_photos() = photo;
  report.set_reprojection_rms_px(capture.rms_px);
  report.set_mat_scale(capture.mat_scale);
  report.set_mat_bend_mm(capture.mat_bend_mm);
  *report.mutable_paper() = capture.paper;
  for (const std::string& warning : capture.warnings) report.add_warnings(warning);
  for (const StageTime& time : capture.times) *report.add_times() = time;
  Vector3d middle = Vector3d::Zero();
  for (const Vector3d& v : mesh.vertices_mm) middle += v;
  describeCameras(capture, middle / static_cast<double>(mesh.vertices_mm.size()), report);
  describeSurface(mesh, report);
  report.set_triangles(static_cast<std::int64_t>(mesh.triangles.size()));
  report.set_watertight(isWatertight(mesh));
  *report.mutable_t_hold_mat() = toProto("", PosedCamera{{}, capture.T_hold_mat}).t_camera_hold();
  advise(report, on_wall);
  return report;
}

}  // namespace holdshelf
