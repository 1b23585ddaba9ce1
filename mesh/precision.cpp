// SPDX-License-Identifier: Apache-2.0
#include "mesh/precision.h"

#include <algorithm>
#include <cmath>

namespace holdshelf {

namespace {
constexpr double kFacingGoal_rad = 0.035;
constexpr double kWallFromPhotos_mm = 0.08;
constexpr double kShared_mm2 = 7;  ///< A disc of 1.5 mm radius, see sharing().

/// Mean of the largest of n normal deviates (Cramer 1946, 28.6).
double meanOfLargest(double n) {
  if (n < 2) return 0;
  const double a = std::sqrt(2 * std::log(n));
  return std::max(0.0, a - (std::log(std::log(n)) + std::log(4 * M_PI) - 2 * 0.5772) / (2 * a));
}
}  // namespace

OutsideOptions MeshPrecision::outside() const {
  // The slope of a line through points with noise s every d over a length w has the standard
  // uncertainty s sqrt(12 d / w^3).
  const double wanted =
      std::cbrt(12 * sigma_mm * sigma_mm * resolution_mm / (kFacingGoal_rad * kFacingGoal_rad));
  OutsideOptions options;
  options.window_mm = std::clamp(std::max(wanted, 2 * resolution_mm), 0.8, 6.0);
  options.step_mm = std::clamp(options.window_mm / 4, 0.2, 0.75);
  options.back_mm = std::max(0.4, 1.2 * resolution_mm);
  return options;
}

double MeshPrecision::facingSigma_deg() const {
  const double window = outside().window_mm;
  return std::sqrt(12 * sigma_mm * sigma_mm * resolution_mm / (window * window * window)) * 180 /
         M_PI;
}

double MeshPrecision::turnSigma_deg() const {
  if (sigma_mm <= 0) return facingSigma_deg();
  return std::min(1.0, std::hypot(roughness_mm / sigma_mm, 0.5)) * facingSigma_deg();
}

double MeshPrecision::sharing() const {
  const double own = sigma_mm > 0 ? std::clamp(roughness_mm / sigma_mm, 0.0, 1.0) : 1;
  return std::sqrt(1.4 * 1.4 * own * own + 2.5 * 2.5 * (1 - own * own));
}

namespace {

/// By how much the farthest of the coordinates stands out by noise that `together` of them share.
double excessBy(double noise, double together, double highest, const std::vector<double>& along) {
  if (noise < 1e-3) return 0;
  double excess = 2 * noise;
  for (int round = 0; round < 20; ++round) {
    int near = 0;
    for (double a : along) near += std::abs(a - (highest - excess)) <= noise;
    excess = 0.5 * (excess + noise * meanOfLargest(near / 0.68 / together));
  }
  return excess;
}

}  // namespace

double MeshPrecision::farthest(std::vector<double> along) const {
  const double highest = *std::max_element(along.begin(), along.end());
  const double own = std::min(sigma_mm, roughness_mm);
  const double shared = from_photos ? std::sqrt(sigma_mm * sigma_mm - own * own) : 0;
  const double together = std::max(1.0, kShared_mm2 / (0.87 * resolution_mm * resolution_mm));
  // Only what lies this close can be the farthest by its noise.
  std::erase_if(along, [&](double a) { return a < highest - 12 * std::hypot(own, shared); });
  return highest -
         std::hypot(excessBy(own, 1, highest, along), excessBy(shared, together, highest, along));
}

MeshPrecision precisionOf(const TriangleMesh& mesh, const MeshTopology& topology,
                          double given_sigma_mm) {
  MeshPrecision precision;
  precision.resolution_mm = std::max(topology.resolution_mm, 1e-3);
  precision.roughness_mm = std::max(estimateNoise(mesh), 1e-4);
  precision.from_photos = !mesh.guesswork.empty();
  if (precision.from_photos)
    precision.wall_mm = mesh.wall_sigma_mm > 0 ? mesh.wall_sigma_mm : kWallFromPhotos_mm;
  if (!mesh.sigma_mm.empty()) {
    std::vector<float> sigma;
    for (float s : mesh.sigma_mm)
      if (std::isfinite(s) && s >= 0) sigma.push_back(s);
    if (!sigma.empty()) {
      const auto middle = sigma.begin() + static_cast<std::ptrdiff_t>(sigma.size() / 2);
      std::nth_element(sigma.begin(), middle, sigma.end());
      precision.sigma_mm = *middle;
      return precision;
    }
  }
  precision.sigma_mm = given_sigma_mm > 0 ? given_sigma_mm : precision.roughness_mm;
  return precision;
}

}  // namespace holdshelf
