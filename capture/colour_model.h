// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <vector>

namespace holdshelf {

/// A density over colours: a few Gaussians and a thin uniform floor, so that a colour it was not
/// taught is unlikely but never impossible.
///
/// Colours are features that light changes little, of reflectances relative to white paper (see
/// colourFeature): log luminance and two log ratios.
class ColourModel {
 public:
  /// Learns from samples by k-means, started at the luminance quantiles (so the same samples give
  /// the same model), then one Gaussian a cluster. Fewer than 30 samples: the floor alone.
  static ColourModel learn(const std::vector<Eigen::Vector3f>& samples, int components);

  /// Natural logarithm of the density.
  float logDensity(const Eigen::Vector3f& feature) const;

  bool empty() const { return parts_.empty(); }

  /// Log density of the floor: what any colour has at least.
  static float logFloor();

 private:
  struct Part {
    Eigen::Vector3f mean;
    Eigen::Matrix3f whitener;  // Upper triangular; |whitener (x - mean)|^2 is the squared distance.
    float log_scale;           // Of weight / ((2 pi)^3/2 sqrt(det)).
  };
  std::vector<Part> parts_;
};

/// Log luminance and the logs of red and blue over green, of linear R, G, B relative to white (1).
/// 0.02 is added to each, so that sensor noise in the dark has little effect.
Eigen::Vector3f colourFeature(const Eigen::Vector3f& rgb_linear);

}  // namespace holdshelf
