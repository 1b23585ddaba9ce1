// SPDX-License-Identifier: Apache-2.0
#include "capture/colour_model.h"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <limits>

namespace holdshelf {
namespace {

// Share of the floor, and the volume of features that occur: 4 x 2 x 2.
constexpr float kFloorShare = 0.04f;
constexpr float kFeatureVolume = 16;
// Standard deviation added to every Gaussian: JPEG and sensor noise, light that is a bit different.
constexpr float kSpread = 0.04f;

std::vector<int> cluster(const std::vector<Eigen::Vector3f>& samples, int components) {
  std::vector<std::size_t> order(samples.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return samples[a][0] != samples[b][0] ? samples[a][0] < samples[b][0] : a < b;
  });
  std::vector<Eigen::Vector3f> centres;
  for (int k = 0; k < components; ++k)
    centres.push_back(
        samples[order[(2 * std::size_t(k) + 1) * order.size() / (2 * std::size_t(components))]]);
  std::vector<int> label(samples.size(), 0);
  for (int round = 0; round < 12; ++round) {
    std::vector<Eigen::Vector4f> sums(centres.size(), Eigen::Vector4f::Zero());
    for (std::size_t i = 0; i < samples.size(); ++i) {
      float best = std::numeric_limits<float>::infinity();
      for (int k = 0; k < components; ++k) {
        // Hue tells more than brightness.
        const Eigen::Vector3f d = (samples[i] - centres[k]).cwiseProduct(Eigen::Vector3f(1, 2, 2));
        if (d.squaredNorm() < best) {
          best = d.squaredNorm();
          label[i] = k;
        }
      }
      sums[label[i]] += Eigen::Vector4f(samples[i][0], samples[i][1], samples[i][2], 1);
    }
    for (int k = 0; k < components; ++k)
      if (sums[k][3] > 0) centres[k] = sums[k].head<3>() / sums[k][3];
  }
  return label;
}

}  // namespace

float ColourModel::logFloor() { return std::log(kFloorShare / kFeatureVolume); }

ColourModel ColourModel::learn(const std::vector<Eigen::Vector3f>& samples, int components) {
  ColourModel model;
  if (samples.size() < 30) return model;
  const std::vector<int> label = cluster(samples, components);
  for (int k = 0; k < components; ++k) {
    Eigen::Vector3d mean = Eigen::Vector3d::Zero();
    Eigen::Matrix3d square = Eigen::Matrix3d::Zero();
    double n = 0;
    for (std::size_t i = 0; i < samples.size(); ++i)
      if (label[i] == k) {
        const Eigen::Vector3d s = samples[i].cast<double>();
        mean += s;
        square += s * s.transpose();
        ++n;
      }
    if (n < 5) continue;
    mean /= n;
    const Eigen::Matrix3d covariance = square / n - mean * mean.transpose() +
                                       Eigen::Matrix3d::Identity() * double(kSpread * kSpread);
    const Eigen::Matrix3d L = covariance.llt().matrixL();
    Part part;
    part.mean = mean.cast<float>();
    part.whitener = L.inverse().cast<float>();
    part.log_scale = float(std::log((1 - kFloorShare) * n / double(samples.size())) -
                           1.5 * std::log(2 * M_PI) - std::log(L(0, 0) * L(1, 1) * L(2, 2)));
    model.parts_.push_back(part);
  }
  return model;
}

float ColourModel::logDensity(const Eigen::Vector3f& feature) const {
  float sum = kFloorShare / kFeatureVolume;
  for (const Part& part : parts_) {
    const float exponent =
        part.log_scale - 0.5f * (part.whitener * (feature - part.mean)).squaredNorm();
    if (exponent > -12) sum += std::exp(exponent);
  }
  return std::log(sum);
}

Eigen::Vector3f colourFeature(const Eigen::Vector3f& rgb) {
  constexpr float kDark = 0.02f;
  const float r = std::max(rgb[0], 0.f) + kDark, g = std::max(rgb[1], 0.f) + kDark,
              b = std::max(rgb[2], 0.f) + kDark;
  const float luminance = 0.2126f * r + 0.7152f * g + 0.0722f * b;  // Of linear sRGB (BT.709).
  return {std::log(luminance), std::log(r / g), std::log(b / g)};
}

}  // namespace holdshelf
