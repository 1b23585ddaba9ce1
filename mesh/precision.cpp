// SPDX-License-Identifier: Apache-2.0
#include "mesh/precision.h"

#include <algorithm>
#include <cmath>

namespace holdshelf {

namespace {
constexpr double kFacingGoal_rad = 0.035;
}

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

double MeshPrecision::sharing() const {
  const double own = sigma_mm > 0 ? std::clamp(roughness_mm / sigma_mm, 0.0, 1.0) : 1;
  return std::sqrt(1.4 * 1.4 * own * own + 2.5 * 2.5 * (1 - own * own));
}

MeshPrecision precisionOf(const TriangleMesh& mesh, const MeshTopology& topology,
                          double given_sigma_mm) {
  MeshPrecision precision;
  precision.resolution_mm = std::max(topology.resolution_mm, 1e-3);
  precision.roughness_mm = std::max(estimateNoise(mesh), 1e-4);
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
