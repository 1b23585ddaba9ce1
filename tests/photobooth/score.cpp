// SPDX-License-Identifier: Apache-2.0
#include "tests/photobooth/score.h"

#include <tbb/parallel_for.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "mesh/ray_scene.h"
#include "tests/photobooth/noise.h"
#include "tests/shapes/sdf_mesh.h"

namespace holdshelf {
namespace {

using Eigen::Vector3d;
using Points = std::vector<Vector3d>;

bool counts(const Vector3d& p, const ExactHold& hold, const ScoreOptions& options) {
  if (p.z() <= options.above_wall_mm) return false;
  if (!hold.bolt) return true;
  const double clear = hold.bolt->recess_mm / 2 + options.bolt_gap_mm;
  return (p.head<2>() - hold.bolt->axis_mm).norm() > clear;
}

double quantile(std::vector<double>& values, double share) {
  const auto at = values.begin() + static_cast<std::ptrdiff_t>(share * (values.size() - 1));
  std::nth_element(values.begin(), at, values.end());
  return *at;
}

TriangleMesh moved(const TriangleMesh& mesh, const Eigen::Isometry3d& T) {
  TriangleMesh out;
  out.triangles = mesh.triangles;
  for (const Vector3d& p : mesh.vertices_mm) out.vertices_mm.push_back(T * p);
  return out;
}

Points counting(Points points, const ExactHold& hold, const ScoreOptions& options) {
  std::erase_if(points, [&](const Vector3d& p) { return !counts(p, hold, options); });
  return points;
}

}  // namespace

Points samplePoints(const TriangleMesh& mesh, int count, std::uint32_t seed) {
  std::vector<double> area_to;
  double area = 0;
  for (const Eigen::Vector3i& t : mesh.triangles) {
    const Vector3d& a = mesh.vertices_mm[t[0]];
    area += (mesh.vertices_mm[t[1]] - a).cross(mesh.vertices_mm[t[2]] - a).norm() / 2;
    area_to.push_back(area);
  }
  Points points;
  if (!(area > 0)) return points;
  Random random(seed);
  for (int i = 0; i < count; ++i) {  // One in each equal slice of the area.
    const double at = area * (i + random.uniform()) / count;
    const auto found = std::lower_bound(area_to.begin(), area_to.end(), at);
    const auto index = std::min<std::size_t>(found - area_to.begin(), area_to.size() - 1);
    const Eigen::Vector3i& t = mesh.triangles[index];
    const double u = std::sqrt(random.uniform()), v = random.uniform();
    points.push_back((1 - u) * mesh.vertices_mm[t[0]] + u * (1 - v) * mesh.vertices_mm[t[1]] +
                     u * v * mesh.vertices_mm[t[2]]);
  }
  return points;
}

Score scoreSurface(const TriangleMesh& mesh, const Eigen::Isometry3d& T_truth_mesh,
                   const ExactHold& hold, const ScoreOptions& options) {
  Score score;
  const TriangleMesh placed = moved(mesh, T_truth_mesh);
  const Points points =
      counting(samplePoints(placed, options.samples, options.seed), hold, options);
  score.samples = static_cast<int>(points.size());
  if (points.empty()) return score;
  std::vector<double> distance(points.size());
  tbb::parallel_for(std::size_t{0}, points.size(),
                    [&](std::size_t i) { distance[i] = hold.solid(points[i]); });
  double sum = 0, near = 0;
  for (double& d : distance) {
    if (std::abs(d) < 2) sum += d, ++near;
    d = std::abs(d);
  }
  score.bias_mm = near > 0 ? sum / near : 0;
  score.largest_mm = *std::max_element(distance.begin(), distance.end());
  score.median_mm = quantile(distance, 0.5);
  score.p95_mm = quantile(distance, 0.95);

  const TriangleMesh exact = meshSdf(hold.solid, hold.box_mm, 0.6);
  const Points wanted = counting(samplePoints(exact, options.samples, options.seed), hold, options);
  const RayScene scene(placed);
  std::vector<std::uint8_t> covered(wanted.size());
  tbb::parallel_for(std::size_t{0}, wanted.size(), [&](std::size_t i) {
    covered[i] = scene.closestPoint(wanted[i], options.near_mm).has_value();
  });
  score.covered =
      std::count(covered.begin(), covered.end(), 1) / static_cast<double>(wanted.size());
  return score;
}

TruthFit fitToTruth(const TriangleMesh& mesh, const Eigen::Isometry3d& start, const ExactHold& hold,
                    bool with_scale, const ScoreOptions& options) {
  constexpr double kHuber_mm = 0.3;
  const Points points = samplePoints(mesh, std::min(options.samples, 15000), options.seed);
  const int unknowns = with_scale ? 7 : 6;
  TruthFit fit;
  fit.T_truth_mesh = start;
  for (int round = 0; round < 30; ++round) {
    Eigen::MatrixXd A = Eigen::MatrixXd::Zero(unknowns, unknowns);
    Eigen::VectorXd b = Eigen::VectorXd::Zero(unknowns);
    for (const Vector3d& p : points) {
      const Vector3d turned = fit.T_truth_mesh.linear() * (fit.scale * p);
      const Vector3d q = turned + fit.T_truth_mesh.translation();
      if (!counts(q, hold, options)) continue;
      const double r = hold.solid(q);
      const double weight = std::min(1.0, kHuber_mm / std::max(std::abs(r), 1e-12));
      const Vector3d g = hold.solid.gradient(q);
      Eigen::VectorXd J(unknowns);
      J.head<3>() = g;
      J.segment<3>(3) = turned.cross(g);
      if (with_scale) J[6] = g.dot(turned) / fit.scale;
      A += weight * J * J.transpose();
      b -= weight * r * J;
    }
    // A turn that the shape cannot feel (a dome about its axis) stays as it is.
    A.diagonal() *= 1 + 1e-9;
    A.diagonal().array() += 1e-6;
    const Eigen::VectorXd step = A.ldlt().solve(b);
    const Vector3d turn = step.segment<3>(3);
    if (turn.norm() > 0)
      fit.T_truth_mesh.linear() =
          Eigen::AngleAxisd(turn.norm(), turn.normalized()) * fit.T_truth_mesh.linear();
    fit.T_truth_mesh.translation() += step.head<3>();
    if (with_scale) fit.scale += step[6];
    if (step.norm() < 1e-8) break;
  }
  return fit;
}

std::vector<StatedError> statedErrors(const TriangleMesh& mesh,
                                      const Eigen::Isometry3d& T_truth_mesh, const ExactHold& hold,
                                      const ScoreOptions& options) {
  std::vector<StatedError> errors;
  for (std::size_t i = 0; i < mesh.vertices_mm.size(); ++i) {
    const Vector3d p = T_truth_mesh * mesh.vertices_mm[i];
    if (mesh.guesswork[i] || !(mesh.sigma_mm[i] > 0) || !counts(p, hold, options)) continue;
    errors.push_back({std::abs(hold.solid(p)), mesh.sigma_mm[i]});
  }
  return errors;
}

double shareWithin(const std::vector<StatedError>& errors, double k) {
  if (errors.empty()) return 0;
  const auto within = std::count_if(errors.begin(), errors.end(), [&](const StatedError& e) {
    return e.error_mm <= k * e.stated_mm;
  });
  return double(within) / double(errors.size());
}

}  // namespace holdshelf
