// SPDX-License-Identifier: Apache-2.0
#include "capture/wall_plane.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "capture/median.h"

namespace holdshelf {
namespace {

using Eigen::Vector2d;
using Eigen::Vector3d;

constexpr double kWeightAbove = 1.0 / 20;

double tukey(double u) { return std::abs(u) < 1 ? (1 - u * u) * (1 - u * u) : 0; }

/// A corner about the layout's middle.
struct Point {
  Vector3d row;  ///< 1, x, y.
  double z, near;
};

/// Corners that speak for a point around the middle: the nearest 24, and fewer the farther.
constexpr size_t kNearest = 24;

/// The points, and how near the middle the nearest of them is against the ring that counts fully.
struct Points {
  std::vector<Point> all;
  double nearest_share = 1;
};

Points pointsAbout(const Vector2d& middle, const std::vector<Vector3d>& corners,
                   const std::vector<int>& seen) {
  std::vector<Point> points;
  std::vector<double> distances;
  for (size_t i = 0; i < corners.size(); ++i) {
    if (seen[i] < 3) continue;
    const Vector2d d = corners[i].head<2>() - middle;
    points.push_back({{1, d.x(), d.y()}, corners[i].z(), 1});
    distances.push_back(d.norm());
  }
  std::sort(distances.begin(), distances.end());
  if (distances.size() <= kNearest) return {points, 1};
  const double ring = distances[kNearest - 1];
  for (auto& p : points) {
    const double beyond = std::max(0.0, p.row.tail<2>().norm() - ring) / (0.25 * ring);
    p.near = std::exp(-0.5 * beyond * beyond);
  }
  return {points, distances.front() / ring};
}

}  // namespace

WallPlane fitWallPlane(const std::vector<Vector3d>& corners_A_mm,
                       const std::vector<Vector2d>& layout_M_mm, const std::vector<int>& seen) {
  Eigen::AlignedBox2d box;
  for (const auto& X : layout_M_mm) box.extend(X);
  const Vector2d middle = box.center();
  const auto [points, nearest_share] = pointsAbout(middle, corners_A_mm, seen);
  WallPlane out;
  if (points.size() < 4) return out;

  Vector3d plane = Vector3d::Zero();  // z = plane . (1, x, y).
  Eigen::Matrix3d A;
  std::vector<double> weights(points.size(), 1), off(points.size());
  double misfit2 = 0, lift = 0;
  for (int round = 0; round < 30; ++round) {
    A.setZero();
    Vector3d b = Vector3d::Zero();
    for (size_t i = 0; i < points.size(); ++i) {
      const double w = weights[i] * points[i].near;
      A += w * points[i].row * points[i].row.transpose();
      b += w * points[i].row * points[i].z;
    }
    plane = A.ldlt().solve(b);
    std::vector<double> sizes;
    for (size_t i = 0; i < points.size(); ++i) {
      off[i] = points[i].z - plane.dot(points[i].row);
      sizes.push_back(std::abs(off[i]));
    }
    const double scale = std::max(0.03, 1.4826 * medianOf(sizes));
    double mass = 0, near = 0;
    misfit2 = lift = 0;
    for (size_t i = 0; i < points.size(); ++i) {
      // The first rounds decide which side a corner is on, without being drawn by far ones.
      weights[i] = off[i] > 0 ? kWeightAbove : tukey(off[i] / (4.685 * scale));
      misfit2 += weights[i] * points[i].near * off[i] * off[i];
      mass += weights[i] * points[i].near;
      lift += points[i].near * std::max(0.0, off[i]);
      near += points[i].near;
    }
    lift /= std::max(near, 1e-9);
    misfit2 /= std::max(mass, 1e-9);
  }
  // The four corners of a marker say nearly the same, hence the 4.
  const double formal = std::sqrt(4 * misfit2 * A.inverse()(0, 0));
  // What lifts the corners about the middle begins before the first that is seen.
  out.sigma_mm = std::hypot(formal, lift * nearest_share * nearest_share);
  const Vector3d normal = Vector3d(-plane[1], -plane[2], 1).normalized();
  const auto turn = Eigen::Quaterniond::FromTwoVectors(normal, Vector3d::UnitZ());
  // The plane's point below the mat's origin becomes the origin.
  const Vector3d foot(0, 0, plane.dot(Vector3d(1, -middle.x(), -middle.y())));
  out.T_wall_mat.linear() = turn.toRotationMatrix();
  out.T_wall_mat.translation() = -(turn * foot);
  return out;
}

}  // namespace holdshelf
