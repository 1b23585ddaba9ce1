// SPDX-License-Identifier: Apache-2.0
#include "mesh/registration.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>

#include "mesh/surface_distance.h"
#include "mesh/surface_samples.h"
#include "mesh/tangent_step.h"

namespace holdshelf {
namespace {

using Eigen::Isometry3d;
using Eigen::Matrix3d;
using Eigen::Vector3d;

constexpr double kSameSize = 0.03;  // Sizes closer than this are the same size, worn or chalked.
constexpr int kRoughSteps = 8, kFineSteps = 20;
constexpr std::size_t kRoughSamples = 400;
constexpr double kSettled_mm = 0.002;  // Steps that move points by less change no judgement.

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

std::vector<Vector3d> shaped(std::vector<Vector3d> points, const Eigen::Affine3d& shape) {
  for (Vector3d& p : points) p = shape * p;
  return points;
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
    TangentStep last;
    for (int i = 0; i < kRoughSteps; ++i) {
      last = tangentStep(a, points, options.gentle_mm, pairs, T);
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
    const TangentStep now =
        tangentStep(a, points, options.gentle_mm, pairs, best->T, scaled ? &growth : nullptr);
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
  const SurfaceDistance apart =
      distanceBetween(a, b, result.transform(), result.scale, options.samples);
  result.median_mm = apart.median_mm;
  result.p95_mm = apart.p95_mm;
  result.patch_p85_mm = apart.patch_p85_mm;
  return result;
}

}  // namespace holdshelf
