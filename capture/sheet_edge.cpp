// SPDX-License-Identifier: Apache-2.0
#include "capture/sheet_edge.h"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>

#include "capture/edge_line.h"
#include "capture/median.h"

namespace holdshelf {
namespace {

using Eigen::Vector2d;
using Eigen::Vector3d;

double lightAt(const cv::Mat& linear, const std::optional<Vector2d>& px) {
  if (!px) return -1;
  const int x = static_cast<int>(std::lround(px->x())), y = static_cast<int>(std::lround(px->y()));
  if (x < 0 || y < 0 || x >= linear.cols || y >= linear.rows) return -1;
  return linear.at<float>(y, x);
}

/// Logarithm of the light on a grid beyond a side: rows along it, columns outwards. NaN: not in
/// view.
struct Profile {
  static constexpr int kRows = 48;
  static constexpr double kStep_mm = 0.25, kFirst_mm = 0.5;
  int columns = 0;
  std::vector<float> values;

  float at(int row, int column) const {
    return values[static_cast<size_t>(row) * static_cast<size_t>(columns) +
                  static_cast<size_t>(column)];
  }
};

double alongOf(const SheetSide& side, int row) {
  return side.length * ((row + 0.5) / Profile::kRows - 0.5);
}

Profile profileOf(const cv::Mat& linear, const PosedCamera& camera, const SheetSide& side) {
  Profile profile;
  const double reach_mm = std::clamp(0.5 * side.length, 30.0, 120.0);
  profile.columns = static_cast<int>(reach_mm / Profile::kStep_mm);
  for (int row = 0; row < Profile::kRows; ++row)
    for (int column = 0; column < profile.columns; ++column) {
      const double out = Profile::kFirst_mm + Profile::kStep_mm * column;
      const double light = lightAt(linear, camera.project(side.point(alongOf(side, row), out)));
      profile.values.push_back(light < 0 ? NAN
                                         : static_cast<float>(std::log(std::max(light, 0.003))));
    }
  return profile;
}

/// Mean drop of log light across the line, and whether enough of it drops.
std::optional<double> dropAcross(const SheetSide& side, const Profile& profile,
                                 const SheetEdge& line) {
  constexpr int kGap = 5;  // Columns either way: 1.25 mm, past the edge's blur.
  double sum = 0;
  int seen = 0, falling = 0;
  for (int row = 0; row < Profile::kRows; ++row) {
    const double out = line.offset + line.slope * alongOf(side, row);
    const int column =
        static_cast<int>(std::lround((out - Profile::kFirst_mm) / Profile::kStep_mm));
    if (column < kGap || column + kGap >= profile.columns) continue;
    const float drop = profile.at(row, column - kGap) - profile.at(row, column + kGap);
    if (std::isnan(drop)) continue;
    ++seen;
    falling += drop > 0.12F;
    sum += std::clamp(drop, -0.5F, 0.5F);
  }
  if (seen < 0.6 * Profile::kRows || falling < 0.8 * seen) return std::nullopt;
  return sum / seen;
}

/// The first line outwards at which the light drops, to about a quarter millimetre.
std::optional<SheetEdge> firstDrop(const SheetSide& side, const Profile& profile) {
  std::optional<SheetEdge> best;
  double best_drop = 0;
  const double reach = Profile::kFirst_mm + Profile::kStep_mm * profile.columns;
  for (double offset = 1; offset < reach; offset += Profile::kStep_mm) {
    // Once a drop has been found only the next millimetre may still improve it.
    if (best && offset > best->offset + 1) break;
    for (double slope = -0.03; slope <= 0.0301; slope += 0.0015) {
      const SheetEdge line{offset, slope};
      const auto drop = dropAcross(side, profile, line);
      if (drop && *drop > best_drop + 1e-9) best_drop = *drop, best = line;
    }
  }
  return best;
}

/// Where a pixel's ray meets the side's strip of paper, as (along, out).
Vector2d onSide(const SheetSide& side, const PosedCamera& camera, const Vector2d& px) {
  const Eigen::Isometry3d T_hold_camera = camera.T_camera_hold.inverse();
  const Vector3d eye = T_hold_camera.translation();
  const Vector3d ray = T_hold_camera.linear() * camera.model.ray(px);
  // z = height + tilt * direction . (x - origin)
  const Vector3d normal(-side.tilt * side.direction.x(), -side.tilt * side.direction.y(), 1);
  const double level = side.height - side.tilt * side.direction.dot(side.origin);
  const Vector3d p = eye + (level - normal.dot(eye)) / normal.dot(ray) * ray;
  const Vector2d d = p.head<2>() - side.origin;
  return {d.dot(side.direction), d.dot(side.outward)};
}

}  // namespace

SheetSide sideOf(const Eigen::AlignedBox2d& box, int which, const std::vector<Vector3d>& points) {
  static const std::array<Vector2d, 4> normals = {Vector2d(1, 0), Vector2d(0, 1), Vector2d(-1, 0),
                                                  Vector2d(0, -1)};
  SheetSide side;
  side.outward = normals[static_cast<size_t>(which)];
  side.direction = {-side.outward.y(), side.outward.x()};
  side.origin = box.center() + 0.5 * box.sizes().cwiseProduct(side.outward);
  side.length = std::abs(box.sizes().dot(side.direction));
  // Height by least squares over the corners in the outer tenth of the layout.
  const double band = 0.1 * std::abs(box.sizes().dot(side.outward));
  Eigen::Matrix2d A = Eigen::Matrix2d::Zero();
  Vector2d b = Vector2d::Zero();
  for (const auto& X : points) {
    const Vector2d d = X.head<2>() - side.origin;
    if (d.dot(side.outward) < -band) continue;
    const Vector2d row(1, d.dot(side.direction));
    A += row * row.transpose();
    b += row * X.z();
  }
  if (A.determinant() > 1e-6) {
    const Vector2d fit = A.inverse() * b;
    side.height = fit.x(), side.tilt = fit.y();
  }
  return side;
}

std::optional<SheetEdge> edgeInView(const cv::Mat& linear, const PosedCamera& camera,
                                    const SheetSide& side) {
  const auto coarse = firstDrop(side, profileOf(linear, camera, side));
  if (!coarse) return std::nullopt;
  const auto at = [&](double along, double more) {
    return camera.project(side.point(along, coarse->offset + coarse->slope * along + more));
  };
  const double half = 0.46 * side.length;
  const auto a = at(-half, 0), b = at(half, 0), paper = at(0, -4), table = at(0, 4);
  if (!a || !b || !paper || !table) return std::nullopt;
  const double reach = std::clamp(0.5 * (*paper - *table).norm(), 2.0, 5.0);
  const EdgeLine line = fitEdge(linear, *a, *b, *paper, reach, nullptr);
  if (!line.valid) return std::nullopt;
  const double length = (*b - *a).norm();
  const Vector2d p = onSide(side, camera, line.point(-0.4 * length));
  const Vector2d q = onSide(side, camera, line.point(0.4 * length));
  SheetEdge edge;
  edge.slope = (q.y() - p.y()) / (q.x() - p.x());
  edge.offset = p.y() - edge.slope * p.x();
  if (!std::isfinite(edge.offset) || std::abs(edge.offset - coarse->offset) > 2)
    return std::nullopt;
  return edge;
}

std::optional<SheetEdge> commonEdge(const std::vector<std::optional<SheetEdge>>& seen) {
  std::vector<double> offsets, slopes;
  for (const auto& edge : seen)
    if (edge) offsets.push_back(edge->offset), slopes.push_back(edge->slope);
  if (offsets.size() < 3) return std::nullopt;
  const SheetEdge middle{medianOf(offsets), medianOf(slopes)};
  size_t agreeing = 0;
  for (double offset : offsets) agreeing += std::abs(offset - middle.offset) < 1.5;
  if (agreeing < 3 || 2 * agreeing < offsets.size()) return std::nullopt;
  return middle;
}

}  // namespace holdshelf
