// SPDX-License-Identifier: Apache-2.0
// Prints what the calibration of a capture reaches: `calibration_bench [--photos] FOLDER...`, each
// with mat.json and photos. Where truth_cameras.json lies beside them (the photobooth writes it), a
// grid of points about the hold is projected by the true cameras, intersected by the calibrated
// ones, and compared: first as it is, then with the frame's rigid shift removed.
#include <google/protobuf/util/json_util.h>

#include <Eigen/Dense>
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <map>
#include <sstream>

#include "capture/calibrate.h"
#include "capture/mat_file.h"
#include "mesh/bad_input.h"
#include "tests/photobooth/capture_truth.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

std::map<std::string, PosedCamera> readTruth(const std::filesystem::path& file) {
  std::ifstream in(file);
  std::stringstream text;
  text << "{\"cameras\": " << in.rdbuf() << "}";
  CaptureReport report;
  if (!google::protobuf::util::JsonStringToMessage(text.str(), &report).ok())
    throw BadInput(file.string() + ": not a list of cameras.");
  std::map<std::string, PosedCamera> out;
  for (const auto& camera : report.cameras()) out[camera.photo()] = fromProto(camera);
  return out;
}

/// Where the true point is seen by the calibrated cameras: the point nearest to all rays.
Vector3d intersected(const CalibratedCapture& capture,
                     const std::map<std::string, PosedCamera>& truth, const Vector3d& point) {
  Eigen::Matrix3d A = Eigen::Matrix3d::Zero();
  Vector3d b = Vector3d::Zero();
  for (const auto& view : capture.views) {
    const auto px = truth.at(view.photo).project(point);
    const Eigen::Isometry3d back = view.camera.T_camera_hold.inverse();
    const Vector3d ray = (back.linear() * capture.lens.ray(*px)).normalized();
    const Eigen::Matrix3d across = Eigen::Matrix3d::Identity() - ray * ray.transpose();
    A += across;
    b += across * back.translation();
  }
  return A.ldlt().solve(b);
}

double rms(const Eigen::Matrix3Xd& difference) {
  return std::sqrt(difference.colwise().squaredNorm().mean());
}

void compare(const CalibratedCapture& capture, const std::map<std::string, PosedCamera>& truth) {
  std::vector<Vector3d> grid;
  for (double x : {-60, -30, 0, 30, 60})
    for (double y : {-60, -30, 0, 30, 60})
      for (double z : {0, 15, 30, 45}) grid.emplace_back(x, y, z);
  Eigen::Matrix3Xd from(3, grid.size()), to(3, grid.size());
  for (size_t i = 0; i < grid.size(); ++i) {
    from.col(Eigen::Index(i)) = intersected(capture, truth, grid[i]);
    to.col(Eigen::Index(i)) = grid[i];
  }
  const double scale = Eigen::umeyama(from, to, true).topLeftCorner<3, 3>().col(0).norm();
  const Eigen::Isometry3d shift(Eigen::umeyama(from, to, false));
  const CameraModel& model = truth.begin()->second.model;
  std::printf("  focal error %.4f %%, scale error %.4f %%\n",
              100 * (capture.lens.fx_px / model.fx_px - 1), 100 * (1 / scale - 1));
  std::printf("  points about the hold: rms %.4f mm as they are, %.4f mm after the frame's shift\n",
              rms(from - to), rms(shift * from - to));
  const Vector3d up = shift.linear().transpose() * Vector3d::UnitZ();
  std::printf(
      "  frame: height error %.4f mm under the hold, tilt %.4f deg, turn %.4f deg, shift "
      "%.3f %.3f mm\n",
      -shift.translation().z(), std::acos(std::min(1.0, up.z())) * 180 / M_PI,
      std::atan2(shift.linear()(1, 0), shift.linear()(0, 0)) * 180 / M_PI, shift.translation().x(),
      shift.translation().y());
  double angle2 = 0, place2 = 0;
  for (const auto& view : capture.views) {
    const Eigen::Isometry3d& truly = truth.at(view.photo).T_camera_hold;
    const Eigen::Isometry3d mine = view.camera.T_camera_hold * shift.inverse();
    const double angle = Eigen::AngleAxisd(mine.linear() * truly.linear().transpose()).angle();
    angle2 += angle * angle;
    place2 += (mine.inverse().translation() - truly.inverse().translation()).squaredNorm();
  }
  const double n = static_cast<double>(capture.views.size());
  std::printf("  poses: rms %.4f deg, %.4f mm\n", std::sqrt(angle2 / n) * 180 / M_PI,
              std::sqrt(place2 / n));
}

void bench(const std::filesystem::path& folder, bool each_photo) {
  const auto start = std::chrono::steady_clock::now();
  const Mat mat = readMat(folder / "mat.json");
  const auto capture = calibrateCapture(photosIn(folder), mat, {}, {});
  std::printf("%s: %zu of %zu photos, rms %.4f px, %.1f s\n", folder.c_str(), capture.views.size(),
              capture.reports.size(), capture.rms_px,
              std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count());
  const CameraModel& c = capture.lens;
  std::printf("  fx %.2f +- %.2f fy %.2f cx %.2f cy %.2f k1 %.4f k2 %.4f k3 %.4f p1 %.5f p2 %.5f\n",
              c.fx_px, capture.focal_sigma_px, c.fy_px, c.cx_px, c.cy_px, c.k1, c.k2, c.k3, c.p1,
              c.p2);
  double lowest = 1e9, highest = -1e9;
  for (const auto& X : capture.mat_points_H_mm)
    lowest = std::min(lowest, X.z()), highest = std::max(highest, X.z());
  std::printf("  mat z %.2f to %.2f mm, plane sigma %.3f mm, scale sigma %.4f %%\n", lowest,
              highest, capture.plane_sigma_mm, 100 * capture.scale_sigma_rel);
  std::printf("  markers ever seen %.0f %%, none over %.0f degrees at most\n",
              100 * capture.mat_in_view.share, capture.mat_in_view.gap_deg);
  const PaperCheck& paper = capture.paper;
  std::printf("  paper found %d: %.2f x %.2f nominal mm, %s, scale %.4f %s\n", paper.found(),
              paper.width_nominal_mm(), paper.height_nominal_mm(), paper.paper().c_str(),
              paper.suggested_mat_scale(), paper.message().c_str());
  if (each_photo)
    for (const auto& r : capture.reports)
      std::printf("  %s: %d markers, rms %.3f px, edge %.2f px, azimuth %.1f elevation %.1f %s\n",
                  r.photo().c_str(), r.markers_found(), r.reprojection_rms_px(), r.sharpness(),
                  r.azimuth_deg(), r.elevation_deg(), r.reason().c_str());
  for (const auto& t : capture.times) std::printf("  %s: %.2f s\n", t.stage().c_str(), t.seconds());
  if (std::filesystem::exists(folder / "truth_cameras.json"))
    compare(capture, readTruth(folder / "truth_cameras.json"));
}

}  // namespace

int main(int argc, char** argv) {
  const bool each_photo = argc > 1 && std::strcmp(argv[1], "--photos") == 0;
  for (int i = each_photo ? 2 : 1; i < argc; ++i) try {
      bench(argv[i], each_photo);
    } catch (const BadInput& bad) {
      std::printf("%s: %s\n", argv[i], bad.what());
    }
}
