// SPDX-License-Identifier: Apache-2.0
#include "mesh/registration.h"

#include <tbb/parallel_for.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>

#include "mesh/surface_samples.h"

namespace holdshelf {
namespace {

using Eigen::Isometry3d;
using Eigen::Matrix3d;
using Eigen::Vector3d;
using Matrix6d = Eigen::Matrix<double, 6, 6>;
using Vector6d = Eigen::Matrix<double, 6, 1>;

constexpr double kSameSize = 0.03;  // Sizes closer than this are the same size, worn or chalked.
constexpr int kRoughSteps = 8, kFineSteps = 20;
constexpr std::size_t kRoughSamples = 400;

/// b scaled and mirrored, before its rigid motion.
Eigen::Affine3d shaping(double scale, bool mirrored) {
  Eigen::Affine3d shape = Eigen::Affine3d::Identity();
  shape.linear().diagonal() << (mirrored ? -scale : scale), scale, scale;
  return shape;
}

/// The rigid motion that a guess stands for: turned about z, centroids on each other.
Isometry3d motionOf(const TurnGuess& guess, const Signature& a, const Signature& b, double scale) {
  const Vector3d centre_b =
      scale * Vector3d(guess.mirrored ? -b.centre_mm[0] : b.centre_mm[0], b.centre_mm[1], 0);
  Isometry3d T = Isometry3d::Identity();
  T.linear() = Eigen::AngleAxisd(guess.rotation_deg * std::numbers::pi / 180, Vector3d::UnitZ())
                   .toRotationMatrix();
  T.translation() = Vector3d(a.centre_mm[0], a.centre_mm[1], 0) - T.linear() * centre_b;
  return T;
}

double tukey(double residual, double width) {
  const double x = residual / width;
  return std::abs(x) >= 1 ? 0 : (1 - x * x) * (1 - x * x);
}

double median(std::vector<double>& values) {
  if (values.empty()) return std::numeric_limits<double>::infinity();
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

struct Pairing {
  std::vector<Vector3d> moved, offset, normal;  // offset: from the surface to the moved point.
};

Pairing pair(const RegistrationTarget& a, const std::vector<Vector3d>& points_b,
             const Isometry3d& T) {
  Pairing pairs;
  pairs.moved.resize(points_b.size());
  pairs.offset.resize(points_b.size());
  pairs.normal.resize(points_b.size());
  tbb::parallel_for(std::size_t{0}, points_b.size(), [&](std::size_t i) {
    const Vector3d p = T * points_b[i];
    pairs.moved[i] = p;
    const auto hit = a.scene.closestPoint(p);
    pairs.offset[i] = hit ? Vector3d(p - hit->point_mm) : Vector3d::Constant(1e9);
    if (!hit) return;
    const auto& t = a.mesh.triangles[static_cast<std::size_t>(hit->triangle)];
    const Vector3d& o = a.mesh.vertices_mm[static_cast<std::size_t>(t[0])];
    pairs.normal[i] = (a.mesh.vertices_mm[static_cast<std::size_t>(t[1])] - o)
                          .cross(a.mesh.vertices_mm[static_cast<std::size_t>(t[2])] - o)
                          .normalized();
  });
  return pairs;
}

/// One Gauss-Newton step on the distances to the tangent planes. Returns the median distance
/// before the step.
double step(const RegistrationTarget& a, const std::vector<Vector3d>& points_b, double gentle_mm,
            Isometry3d& T) {
  const Pairing pairs = pair(a, points_b, T);
  std::vector<double> distances;
  for (const Vector3d& offset : pairs.offset) distances.push_back(offset.norm());
  const double middle = median(distances);
  // Wide while far from home, tight at home.
  const double width = std::max(gentle_mm * 2, 4.685 * 1.4826 * middle);
  Matrix6d H = Matrix6d::Identity() * 1e-9;
  Vector6d g = Vector6d::Zero();
  const Vector3d pivot = T.translation();
  for (std::size_t i = 0; i < pairs.moved.size(); ++i) {
    const double weight = tukey(pairs.offset[i].norm(), width);
    if (weight == 0 || !pairs.normal[i].allFinite()) continue;
    Vector6d J;
    J << (pairs.moved[i] - pivot).cross(pairs.normal[i]), pairs.normal[i];
    H += weight * J * J.transpose();
    g += weight * J * pairs.normal[i].dot(pairs.offset[i]);
  }
  const Vector6d delta = -H.ldlt().solve(g);
  if (!delta.allFinite()) return middle;
  const double angle = delta.head<3>().norm();
  Isometry3d move = Isometry3d::Identity();
  if (angle > 0)
    move.linear() = Eigen::AngleAxisd(angle, delta.head<3>() / angle).toRotationMatrix();
  move.translation() = pivot + delta.tail<3>() - move.linear() * pivot;
  T = move * T;
  return middle;
}

std::vector<Vector3d> shapedSamples(const RegistrationTarget& target, std::size_t count,
                                    const Eigen::Affine3d& shape) {
  std::vector<Vector3d> points = sampleSurface(target.mesh, count).points_mm;
  for (Vector3d& p : points) p = shape * p;
  return points;
}

/// Distances both ways, in millimetres of a.
std::vector<double> distancesBothWays(const RegistrationTarget& a, const RegistrationTarget& b,
                                      const Eigen::Affine3d& b_to_a, double scale,
                                      std::size_t samples) {
  std::vector<double> distances;
  const auto add = [&](const RayScene& scene, const std::vector<Vector3d>& points,
                       const Eigen::Affine3d& transform, double unit) {
    const std::size_t first = distances.size();
    distances.resize(first + points.size());
    tbb::parallel_for(std::size_t{0}, points.size(), [&](std::size_t i) {
      const auto hit = scene.closestPoint(transform * points[i]);
      distances[first + i] = hit ? unit * hit->distance_mm : 1e9;
    });
  };
  add(a.scene, sampleSurface(b.mesh, samples).points_mm, b_to_a, 1);
  add(b.scene, sampleSurface(a.mesh, samples).points_mm, b_to_a.inverse(), scale);
  return distances;
}

struct Candidate {
  TurnGuess guess;
  double scale;
  Isometry3d T;
  double median_mm;
};

/// The most promising start after a few quick steps from each guess.
std::optional<Candidate> bestStart(const RegistrationTarget& a, const RegistrationTarget& b,
                                   double scale, const RegistrationOptions& options) {
  std::optional<Candidate> best;
  auto guesses =
      guessTurns(a.signature, b.signature, static_cast<std::size_t>(options.guesses) * 2);
  int tried = 0;
  for (const TurnGuess& guess : guesses) {
    if (guess.mirrored && !options.try_mirrored) continue;
    if (++tried > options.guesses) break;
    Isometry3d T = motionOf(guess, a.signature, b.signature, scale);
    const auto points = shapedSamples(b, kRoughSamples, shaping(scale, guess.mirrored));
    double middle = 0;
    for (int i = 0; i < kRoughSteps; ++i) middle = step(a, points, options.gentle_mm, T);
    // A direct twin wins a tie with its own mirror image.
    const double handicap = guess.mirrored ? 1.05 : 1;
    if (!best || middle * handicap < best->median_mm)
      best = Candidate{guess, scale, T, middle * handicap};
  }
  return best;
}

}  // namespace

RegistrationTarget::RegistrationTarget(const TriangleMesh& mesh_)
    : mesh(mesh_), scene(mesh), signature(signatureOf(mesh)) {}

Eigen::Affine3d Registered::transform() const { return T_a_b * shaping(scale, mirrored); }

Registered registerMeshes(const RegistrationTarget& a, const RegistrationTarget& b,
                          const RegistrationOptions& options) {
  Registered result;
  result.median_mm = result.p95_mm = std::numeric_limits<double>::infinity();
  if (!(a.signature.size_mm > 0) || !(b.signature.size_mm > 0)) return result;
  const double ratio = a.signature.size_mm / b.signature.size_mm;
  const bool scaled = options.try_sizes && std::abs(ratio - 1) > kSameSize;
  std::optional<Candidate> best = bestStart(a, b, scaled ? ratio : 1, options);
  if (!best) return result;
  const auto points = shapedSamples(b, options.samples, shaping(best->scale, best->guess.mirrored));
  double last = std::numeric_limits<double>::infinity();
  for (int i = 0; i < kFineSteps; ++i) {
    const double now = step(a, points, options.gentle_mm, best->T);
    if (std::abs(last - now) < 1e-6) break;
    last = now;
  }
  result.T_a_b = best->T;
  result.scale = best->scale;
  result.mirrored = best->guess.mirrored;
  const Matrix3d R = best->T.linear();
  result.rotation_deg = std::atan2(R(1, 0), R(0, 0)) * 180 / std::numbers::pi;
  auto distances = distancesBothWays(a, b, result.transform(), result.scale, options.samples);
  result.median_mm = median(distances);
  const auto p95 = distances.begin() + static_cast<std::ptrdiff_t>(distances.size() * 95 / 100);
  std::nth_element(distances.begin(), p95, distances.end());
  result.p95_mm = *p95;
  return result;
}

}  // namespace holdshelf
