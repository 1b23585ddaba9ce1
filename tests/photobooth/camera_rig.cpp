// SPDX-License-Identifier: Apache-2.0
#include "tests/photobooth/camera_rig.h"

#include <cmath>
#include <numbers>

#include "tests/photobooth/noise.h"

namespace holdshelf {
namespace {

constexpr double kRadian = std::numbers::pi / 180;

}  // namespace

CameraModel phoneCamera(int width_px, int height_px, double field_of_view_deg) {
  CameraModel m;
  m.width_px = width_px;
  m.height_px = height_px;
  m.fx_px = m.fy_px = width_px / 2.0 / std::tan(field_of_view_deg / 2 * kRadian);
  m.cx_px = (width_px - 1) / 2.0 + 0.006 * width_px;
  m.cy_px = (height_px - 1) / 2.0 - 0.004 * width_px;
  m.k1 = 0.062;
  m.k2 = -0.115;
  m.p1 = 0.0006;
  m.p2 = -0.0004;
  return m;
}

Eigen::Isometry3d lookAt(const Eigen::Vector3d& eye_mm, const Eigen::Vector3d& target_mm,
                         double roll_deg) {
  const Eigen::Vector3d forward = (target_mm - eye_mm).normalized();
  const Eigen::Vector3d up =
      std::abs(forward.z()) > 0.999 ? Eigen::Vector3d::UnitY() : Eigen::Vector3d::UnitZ();
  const Eigen::Vector3d right = forward.cross(up).normalized();
  Eigen::Matrix3d R;
  R << right.transpose(), forward.cross(right).transpose(), forward.transpose();
  Eigen::Isometry3d T = Eigen::Isometry3d::Identity();
  T.linear() = Eigen::AngleAxisd(roll_deg * kRadian, Eigen::Vector3d::UnitZ()) * R;
  T.translation() = -T.linear() * eye_mm;
  return T;
}

std::vector<PosedCamera> takeRound(const CameraModel& model, const RigOptions& options) {
  Random random(options.seed);
  const int rings = static_cast<int>(options.rings_deg.size());
  const double shake = options.hand_shake;
  std::vector<PosedCamera> cameras;
  const auto take = [&](double azimuth_deg, double step_deg, double height_deg) {
    const double azimuth = azimuth_deg + shake * random.uniform(-0.15, 0.15) * step_deg;
    const double elevation = height_deg + shake * random.uniform(-2, 2);
    const double distance = options.distance_mm * (1 + shake * random.uniform(-0.06, 0.06));
    const Eigen::Vector3d jitter(random.uniform(-1, 1), random.uniform(-1, 1),
                                 random.uniform(-1, 1));
    const Eigen::Vector3d target = options.target_mm + shake * 0.02 * options.distance_mm * jitter;
    const double a = azimuth * kRadian, e = elevation * kRadian;
    const Eigen::Vector3d eye =
        target + distance * Eigen::Vector3d(std::cos(e) * std::cos(a), std::cos(e) * std::sin(a),
                                            std::sin(e));
    cameras.push_back({model, lookAt(eye, target, shake * random.uniform(-3, 3))});
  };
  for (int ring = 0; ring < rings; ++ring) {
    const int first = options.photos * ring / rings, last = options.photos * (ring + 1) / rings;
    const double step = 360.0 / (last - first);
    for (int i = first; i < last; ++i)
      take((i - first + ring / static_cast<double>(rings)) * step, step,
           options.rings_deg[static_cast<std::size_t>(ring)]);
  }
  for (int i = 0; i < options.above; ++i)
    take(i * 360.0 / options.above, 360.0 / options.above, options.above_deg);
  return cameras;
}

}  // namespace holdshelf
