// SPDX-License-Identifier: Apache-2.0
#include "mesh/registration.h"

#include <tbb/parallel_for.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <numbers>
#include <optional>
#include <unordered_map>
#include <utility>

#include "mesh/surface_samples.h"

namespace holdshelf {
namespace {

using Eigen::Isometry3d;
using Eigen::Matrix3d;
using Eigen::Vector3d;
using Matrix7d = Eigen::Matrix<double, 7, 7>;
using Vector7d = Eigen::Matrix<double, 7, 1>;

constexpr double kSameSize = 0.03;  // Sizes closer than this are the same size, worn or chalked.
constexpr int kRoughSteps = 8, kFineSteps = 20;
constexpr std::size_t kRoughSamples = 400;
constexpr double kSettled_mm = 0.002;  // Steps that move points by less change no judgement.
constexpr double kArms = 2;  // Points lie no farther from the centre, in sizes, but on thin blades.
constexpr double kBoundSlack_mm =
    1e-3;                        // The nearest point's distance is reckoned in single precision.
constexpr double kPatch_mm = 5;  // Radius over which signed distances are averaged.
constexpr double kPatchMost_mm = 1;  // A hole's rim is no measure of the shape around it.

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

/// Points of b and where they lie on a; kept from step to step, since what was nearest before
/// bounds how far the nearest can be now, and a bounded search is short.
struct Pairing {
  explicit Pairing(std::size_t points)
      : moved(points), offset(points), normal(points, Vector3d::Constant(kNone)) {}
  std::vector<Vector3d> moved, offset, normal;  // offset: from the surface to the moved point.
  static constexpr double kNone = std::numeric_limits<double>::quiet_NaN();
};

void pair(const RegistrationTarget& a, const std::vector<Vector3d>& points_b, const Isometry3d& T,
          Pairing& pairs) {
  tbb::parallel_for(std::size_t{0}, points_b.size(), [&](std::size_t i) {
    const Vector3d p = T * points_b[i];
    const bool known = pairs.normal[i].allFinite();
    const double within_mm = (p - pairs.moved[i] + pairs.offset[i]).norm() + kBoundSlack_mm;
    pairs.moved[i] = p;
    const auto hit = known ? a.scene.closestPoint(p, within_mm) : a.scene.closestPoint(p);
    pairs.offset[i] = hit ? Vector3d(p - hit->point_mm) : Vector3d::Constant(1e9);
    pairs.normal[i] = Vector3d::Constant(Pairing::kNone);
    if (!hit) return;
    const auto& t = a.mesh.triangles[static_cast<std::size_t>(hit->triangle)];
    const Vector3d& o = a.mesh.vertices_mm[static_cast<std::size_t>(t[0])];
    pairs.normal[i] = (a.mesh.vertices_mm[static_cast<std::size_t>(t[1])] - o)
                          .cross(a.mesh.vertices_mm[static_cast<std::size_t>(t[2])] - o)
                          .normalized();
  });
}

struct Step {
  double median_mm;  ///< Of the distances before the step.
  double moved_mm;   ///< How far the step brought the points, at most.
};

/// One Gauss-Newton step on the distances to the tangent planes. With `growth` the size is free
/// too: it is multiplied by what the step says, and the points must be scaled by it before the
/// next.
Step step(const RegistrationTarget& a, const std::vector<Vector3d>& points_b, double gentle_mm,
          Pairing& pairs, Isometry3d& T, double* growth = nullptr) {
  pair(a, points_b, T, pairs);
  std::vector<double> distances;
  for (const Vector3d& offset : pairs.offset) distances.push_back(offset.norm());
  const double middle = median(distances);
  // Wide while far from home, tight at home.
  const double width = std::max(gentle_mm * 2, 4.685 * 1.4826 * middle);
  Matrix7d H = Matrix7d::Identity() * 1e-9;
  Vector7d g = Vector7d::Zero();
  const Vector3d pivot = T.translation();
  for (std::size_t i = 0; i < pairs.moved.size(); ++i) {
    const double weight = tukey(pairs.offset[i].norm(), width);
    if (weight == 0 || !pairs.normal[i].allFinite()) continue;
    const Vector3d arm = pairs.moved[i] - pivot;
    Vector7d J;
    J << arm.cross(pairs.normal[i]), pairs.normal[i], growth ? arm.dot(pairs.normal[i]) : 0;
    H += weight * J * J.transpose();
    g += weight * J * pairs.normal[i].dot(pairs.offset[i]);
  }
  const Vector7d delta = -H.ldlt().solve(g);
  if (!delta.allFinite()) return {middle, 0};
  const double angle = delta.head<3>().norm();
  Isometry3d move = Isometry3d::Identity();
  if (angle > 0)
    move.linear() = Eigen::AngleAxisd(angle, delta.head<3>() / angle).toRotationMatrix();
  move.translation() = pivot + delta.segment<3>(3) - move.linear() * pivot;
  T = move * T;
  if (growth) *growth *= std::clamp(1 + delta[6], 0.98, 1.02);
  return {middle,
          delta.segment<3>(3).norm() + kArms * a.signature.size_mm * (angle + std::abs(delta[6]))};
}

std::vector<Vector3d> shaped(std::vector<Vector3d> points, const Eigen::Affine3d& shape) {
  for (Vector3d& p : points) p = shape * p;
  return points;
}

/// Samples of one surface and how far the other lies from each, all in millimetres of a: its units
/// are those of the surface sampled and of the other.
struct Distances {
  std::vector<Vector3d> points_mm;
  std::vector<double> distance_mm;
  std::vector<double> signed_mm;  ///< Positive: the other lies outside.
};

Distances distancesFrom(const RegistrationTarget& from, const RegistrationTarget& to,
                        const Eigen::Affine3d& motion, double from_unit, double to_unit,
                        std::size_t samples) {
  const SurfaceSamples surface = sampleSurface(from.mesh, samples);
  Distances result{surface.points_mm, std::vector<double>(surface.points_mm.size(), 1e9),
                   std::vector<double>(surface.points_mm.size(), 0)};
  tbb::parallel_for(std::size_t{0}, surface.points_mm.size(), [&](std::size_t i) {
    const Vector3d& p = surface.points_mm[i];
    const auto hit = to.scene.closestPoint(motion * p);
    if (!hit) return;
    result.distance_mm[i] = to_unit * hit->distance_mm;
    const Vector3d there = motion.inverse() * hit->point_mm - p;
    result.signed_mm[i] = std::copysign(std::min(to_unit * hit->distance_mm, kPatchMost_mm),
                                        there.dot(surface.normals[i]));
  });
  for (Vector3d& p : result.points_mm) p *= from_unit;
  return result;
}

/// Number of a cell of space; far cells may share one, which costs time only.
std::uint64_t cellNumber(const Vector3d& cell) {
  std::uint64_t number = 0;
  for (const double c : {cell.x(), cell.y(), cell.z()})
    number = (number << 21) | (static_cast<std::uint64_t>(static_cast<std::int64_t>(c)) & 0x1fffff);
  return number;
}

/// Absolute patch means of the signed distances: each sample's with those around it, found by a
/// grid of cells as wide as the patch.
std::vector<double> patchMeans(const Distances& distances) {
  const auto cellOf = [](const Vector3d& p) { return Vector3d((p / kPatch_mm).array().floor()); };
  std::unordered_map<std::uint64_t, std::vector<std::size_t>> grid;
  for (std::size_t i = 0; i < distances.points_mm.size(); ++i)
    grid[cellNumber(cellOf(distances.points_mm[i]))].push_back(i);
  std::vector<double> means(distances.points_mm.size());
  tbb::parallel_for(std::size_t{0}, means.size(), [&](std::size_t i) {
    const Vector3d& p = distances.points_mm[i];
    const Vector3d cell = cellOf(p);
    double sum = 0;
    int count = 0;
    for (int n = 0; n < 27; ++n) {
      const Eigen::Vector3i beside(n % 3 - 1, n / 3 % 3 - 1, n / 9 - 1);
      const auto near = grid.find(cellNumber(cell + beside.cast<double>()));
      if (near == grid.end()) continue;
      for (const std::size_t j : near->second) {
        if ((distances.points_mm[j] - p).squaredNorm() > kPatch_mm * kPatch_mm) continue;
        sum += distances.signed_mm[j];
        ++count;
      }
    }
    means[i] = std::abs(sum / std::max(1, count));
  });
  return means;
}

double quantile(std::vector<double>& values, std::size_t percent) {
  if (values.empty()) return std::numeric_limits<double>::infinity();
  const auto at = values.begin() + static_cast<std::ptrdiff_t>((values.size() - 1) * percent / 100);
  std::nth_element(values.begin(), at, values.end());
  return *at;
}

/// Fills in how far the registered surfaces lie from each other, both ways.
void addDistances(const RegistrationTarget& a, const RegistrationTarget& b, std::size_t samples,
                  Registered& result) {
  const Eigen::Affine3d b_to_a = result.transform();
  std::vector<double> all, patches;
  for (const Distances& way : {distancesFrom(b, a, b_to_a, result.scale, 1, samples),
                               distancesFrom(a, b, b_to_a.inverse(), 1, result.scale, samples)}) {
    all.insert(all.end(), way.distance_mm.begin(), way.distance_mm.end());
    const auto means = patchMeans(way);
    patches.insert(patches.end(), means.begin(), means.end());
  }
  result.median_mm = quantile(all, 50);
  result.p95_mm = quantile(all, 95);
  result.patch_p85_mm = quantile(patches, 85);
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
  const std::vector<Vector3d> samples = sampleSurface(b.mesh, kRoughSamples).points_mm;
  int tried = 0;
  for (const TurnGuess& guess : guesses) {
    if (guess.mirrored && !options.try_mirrored) continue;
    if (++tried > options.guesses) break;
    Isometry3d T = motionOf(guess, a.signature, b.signature, scale);
    const auto points = shaped(samples, shaping(scale, guess.mirrored));
    Pairing pairs(points.size());
    Step last{};
    for (int i = 0; i < kRoughSteps; ++i) {
      last = step(a, points, options.gentle_mm, pairs, T);
      if (last.moved_mm < kSettled_mm) break;
    }
    // A direct twin wins a tie with its own mirror image.
    const double handicap = guess.mirrored ? 1.05 : 1;
    if (!best || last.median_mm * handicap < best->median_mm)
      best = Candidate{guess, scale, T, last.median_mm * handicap};
  }
  return best;
}

}  // namespace

RegistrationTarget::RegistrationTarget(TriangleMesh mesh_)
    : mesh(std::move(mesh_)), scene(mesh), signature(signatureOf(mesh)) {}

Eigen::Affine3d Registered::transform() const { return T_a_b * shaping(scale, mirrored); }

Registered registerMeshes(const RegistrationTarget& a, const RegistrationTarget& b,
                          const RegistrationOptions& options) {
  Registered result;
  result.median_mm = result.p95_mm = result.patch_p85_mm = std::numeric_limits<double>::infinity();
  if (!(a.signature.size_mm > 0) || !(b.signature.size_mm > 0)) return result;
  const double ratio = a.signature.size_mm / b.signature.size_mm;
  const bool scaled = options.try_sizes && std::abs(ratio - 1) > kSameSize;
  std::optional<Candidate> best = bestStart(a, b, scaled ? ratio : 1, options);
  if (!best || best->median_mm > options.hopeless_mm) return result;
  auto points = shaped(sampleSurface(b.mesh, options.samples).points_mm,
                       shaping(best->scale, best->guess.mirrored));
  Pairing pairs(points.size());
  for (int i = 0; i < kFineSteps; ++i) {
    double growth = 1;
    const Step now = step(a, points, options.gentle_mm, pairs, best->T, scaled ? &growth : nullptr);
    if (now.moved_mm < kSettled_mm) break;
    if (!scaled) continue;
    best->scale *= growth;
    for (Vector3d& p : points) p *= growth;
  }
  result.T_a_b = best->T;
  result.scale = best->scale;
  result.mirrored = best->guess.mirrored;
  const Matrix3d R = best->T.linear();
  result.rotation_deg = std::atan2(R(1, 0), R(0, 0)) * 180 / std::numbers::pi;
  addDistances(a, b, options.samples, result);
  return result;
}

}  // namespace holdshelf
