// SPDX-License-Identifier: Apache-2.0
#include "tests/photobooth/acceptance.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "tests/photobooth/score.h"

namespace holdshelf {
namespace {

using Eigen::Vector3d;
using Points = std::vector<Vector3d>;

constexpr double kRejectable = 0.003;
constexpr double kOutside_mm = 3, kOffFlat_mm = 8;
constexpr int kSamples = 200000;

/// Gauss-Newton on |p - c| - r, from the centroid.
void fitSphere(const Points& points, Vector3d& centre, double& radius) {
  centre = Vector3d::Zero();
  for (const Vector3d& p : points) centre += p / static_cast<double>(points.size());
  radius = 0;
  for (const Vector3d& p : points)
    radius += (p - centre).norm() / static_cast<double>(points.size());
  for (int round = 0; round < 50; ++round) {
    Eigen::Matrix4d A = Eigen::Matrix4d::Zero();
    Eigen::Vector4d b = Eigen::Vector4d::Zero();
    for (const Vector3d& p : points) {
      const double distance = (p - centre).norm();
      Eigen::Vector4d J;
      J << -(p - centre) / distance, -1;
      A += J * J.transpose();
      b -= J * (distance - radius);
    }
    const Eigen::Vector4d step = A.ldlt().solve(b);
    centre += step.head<3>();
    radius += step[3];
    if (step.norm() < 1e-10) break;
  }
}

/// Drops the points with the largest |residual|, no more than may be; returns the share dropped.
template <typename Residual>
double dropWorst(Points& points, Residual residual) {
  const auto count = static_cast<std::size_t>(kRejectable * static_cast<double>(points.size()));
  const double share = static_cast<double>(count) / static_cast<double>(points.size());
  const auto keep = points.end() - static_cast<std::ptrdiff_t>(count);
  std::nth_element(points.begin(), keep, points.end(), [&](const Vector3d& a, const Vector3d& b) {
    return std::abs(residual(a)) < std::abs(residual(b));
  });
  points.erase(keep, points.end());
  return share;
}

template <typename Residual>
double range(const Points& points, Residual residual) {
  double low = INFINITY, high = -INFINITY;
  for (const Vector3d& p : points) {
    low = std::min(low, residual(p));
    high = std::max(high, residual(p));
  }
  return high - low;
}

struct Plane {
  Vector3d centre, normal;
  double operator()(const Vector3d& p) const { return normal.dot(p - centre); }
};

Plane fitPlane(const Points& points) {
  Vector3d centre = Vector3d::Zero();
  for (const Vector3d& p : points) centre += p / static_cast<double>(points.size());
  Eigen::Matrix3d scatter = Eigen::Matrix3d::Zero();
  for (const Vector3d& p : points) scatter += (p - centre) * (p - centre).transpose();
  return {centre, Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d>(scatter).eigenvectors().col(0)};
}

bool onBall(const Vector3d& p, const Artefact::Ball& ball) {
  const Vector3d d = p - ball.centre_mm;
  const double distance = d.norm();
  return distance < ball.radius_mm + kOutside_mm && d.z() > -0.34 * distance;
}

bool onFlat(const Vector3d& p, const Artefact::Flat& flat) {
  const Vector3d d = p - flat.centre_mm;
  return std::abs(d.dot(flat.normal)) < kOffFlat_mm &&
         std::abs(d.dot(flat.along)) < flat.half_length_mm &&
         std::abs(d.dot(flat.across)) < flat.half_width_mm;
}

}  // namespace

BallFit fitBall(Points points) {
  BallFit fit;
  fitSphere(points, fit.centre_mm, fit.radius_mm);
  const auto residual = [&](const Vector3d& p) {
    return (p - fit.centre_mm).norm() - fit.radius_mm;
  };
  fit.rejected = dropWorst(points, residual);
  fitSphere(points, fit.centre_mm, fit.radius_mm);
  fit.form_mm = range(points, residual);
  fit.points = static_cast<int>(points.size());
  return fit;
}

FlatFit fitFlat(Points points) {
  FlatFit fit;
  fit.rejected = dropWorst(points, fitPlane(points));
  fit.form_mm = range(points, fitPlane(points));
  fit.points = static_cast<int>(points.size());
  return fit;
}

Acceptance acceptArtefact(const TriangleMesh& mesh, const Eigen::Isometry3d& T_truth_mesh,
                          const Artefact& artefact) {
  Points points = samplePoints(mesh, kSamples, 1);
  for (Vector3d& p : points) p = T_truth_mesh * p;
  const auto chosen = [&](const auto& on) {
    Points out;
    std::copy_if(points.begin(), points.end(), std::back_inserter(out), on);
    return out;
  };
  Acceptance result;
  for (const Artefact::Ball& ball : artefact.balls) {
    const Points of_ball = chosen([&](const Vector3d& p) { return onBall(p, ball); });
    result.balls.push_back(of_ball.size() < 10 ? BallFit{} : fitBall(of_ball));
    result.size_mm.push_back(2 * (result.balls.back().radius_mm - ball.radius_mm));
  }
  for (std::size_t i = 0; i < artefact.balls.size(); ++i)
    for (std::size_t j = i + 1; j < artefact.balls.size(); ++j)
      result.spacing_mm.push_back(
          (result.balls[i].centre_mm - result.balls[j].centre_mm).norm() -
          (artefact.balls[i].centre_mm - artefact.balls[j].centre_mm).norm());
  for (const Artefact::Flat& flat : artefact.flats) {
    const Points of_flat = chosen([&](const Vector3d& p) { return onFlat(p, flat); });
    result.flats.push_back(of_flat.size() < 10 ? FlatFit{} : fitFlat(of_flat));
  }
  return result;
}

}  // namespace holdshelf
