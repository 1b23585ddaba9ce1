// SPDX-License-Identifier: Apache-2.0
#include "capture/patch_sampler.h"

#include <algorithm>
#include <cmath>

#include "capture/wide_vectors.h"

namespace holdshelf {
namespace {

constexpr int kHalf = 3;
constexpr float kFlatDeviation = 0.25f;  // Grey levels of 255.

/// Square roots of Gaussian weights, so that dot products of samples are weighted.
struct Falloff {
  alignas(64) float root[kPatchSamples];
  alignas(64) float weight[kPatchSamples];  // Sum 1.
  Falloff() {
    int k = 0;
    float sum = 0;
    for (int y = -kHalf; y <= kHalf; ++y)
      for (int x = -kHalf; x <= kHalf; ++x)
        if (x != 0 || y != 0) {
          weight[k] = std::exp(-static_cast<float>(x * x + y * y) / (2 * 2.3f * 2.3f));
          sum += weight[k++];
        }
    for (k = 0; k < kPatchSamples; ++k) {
      weight[k] /= sum;
      root[k] = std::sqrt(weight[k]);
    }
  }
};
const Falloff kFall;

/// Bilinear samples at (bx + sx, by + sy), then weighted to mean 0 and norm 1; the norm before is
/// returned.
HOLDSHELF_WIDE_VECTORS float sampleNormalised(const float* data, int stride, const float* bx,
                                              const float* by, float sx, float sy,
                                              const float* weight, const float* root, float* out) {
  float mean = 0, square = 0;
#pragma omp simd reduction(+ : mean, square)
  for (int k = 0; k < kPatchSamples; ++k) {
    const float x = bx[k] + sx, y = by[k] + sy;
    const int ix = static_cast<int>(x), iy = static_cast<int>(y);
    const float fx = x - static_cast<float>(ix), fy = y - static_cast<float>(iy);
    const int at = iy * stride + ix;
    const float a = data[at], b = data[at + 1], c = data[at + stride], d = data[at + stride + 1];
    const float top = a + fx * (b - a), bottom = c + fx * (d - c);
    const float s = top + fy * (bottom - top);
    out[k] = s;
    mean += weight[k] * s;
    square += weight[k] * s * s;
  }
  const float norm = std::sqrt(std::max(square - mean * mean, 1e-12f));
  const float scale = 1 / norm;
#pragma omp simd
  for (int k = 0; k < kPatchSamples; ++k) out[k] = (out[k] - mean) * scale * root[k];
  return norm;
}

float dot(const float* a, const float* b) {
  float sum = 0;
#pragma omp simd reduction(+ : sum)
  for (int k = 0; k < kPatchSamples; ++k) sum += a[k] * b[k];
  return sum;
}

}  // namespace

PatchSampler::PatchSampler(double spacing_mm, const Eigen::Vector3d& bend, double reach_mm)
    : reach_mm_(reach_mm) {
  int k = 0;
  for (int j = -kHalf; j <= kHalf; ++j)
    for (int i = -kHalf; i <= kHalf; ++i) {
      if (i == 0 && j == 0) continue;
      const double x = i * spacing_mm, y = j * spacing_mm;
      x_[k] = static_cast<float>(x);
      y_[k] = static_cast<float>(y);
      height_[k++] =
          static_cast<float>((bend[0] * x * x + 2 * bend[1] * x * y + bend[2] * y * y) / 2);
    }
}

double PatchSampler::offsetMm(int k) const {
  constexpr int kMiddle = kPatchOffsets / 2;
  return reach_mm_ * (k - kMiddle) / kMiddle;
}

void PatchSampler::addView(const cv::Mat_<float>& grey, const Eigen::Vector2d& centre_px,
                           const Eigen::Matrix<double, 2, 3>& along, double weight) {
  if (views_ >= kMostPatchViews) return;
  alignas(64) float bx[kPatchSamples], by[kPatchSamples];
  const Eigen::Matrix<float, 2, 3> J = along.cast<float>();
  const float cx = static_cast<float>(centre_px.x()), cy = static_cast<float>(centre_px.y());
  float low_x = 1e9f, high_x = -1e9f, low_y = 1e9f, high_y = -1e9f;
  for (int k = 0; k < kPatchSamples; ++k) {
    bx[k] = cx + J(0, 0) * x_[k] + J(0, 1) * y_[k] + J(0, 2) * height_[k];
    by[k] = cy + J(1, 0) * x_[k] + J(1, 1) * y_[k] + J(1, 2) * height_[k];
    low_x = std::min(low_x, bx[k]), high_x = std::max(high_x, bx[k]);
    low_y = std::min(low_y, by[k]), high_y = std::max(high_y, by[k]);
  }
  const float reach_x = std::abs(J(0, 2)) * static_cast<float>(reach_mm_) + 1;
  const float reach_y = std::abs(J(1, 2)) * static_cast<float>(reach_mm_) + 1;
  if (!(low_x > reach_x && low_y > reach_y &&
        high_x + reach_x < static_cast<float>(grey.cols - 1) &&
        high_y + reach_y < static_cast<float>(grey.rows - 1)))
    return;
  float least = 1e9f;
  for (int k = 0; k < kPatchOffsets; ++k) {
    const float d = static_cast<float>(offsetMm(k));
    least = std::min(least,
                     sampleNormalised(grey[0], static_cast<int>(grey.step1()), bx, by, J(0, 2) * d,
                                      J(1, 2) * d, kFall.weight, kFall.root, samples_[k][views_]));
  }
  if (least < kFlatDeviation) return;
  weight_[views_++] = weight;
}

PatchSampler::Scores PatchSampler::score() const {
  Scores out{};
  double sum = 0, squares = 0;
  for (int i = 0; i < views_; ++i) {
    sum += weight_[i];
    squares += weight_[i] * weight_[i];
  }
  const double pairs = sum * sum - squares;
  out.peak = 0;
  for (int k = 0; k < kPatchOffsets; ++k) {
    alignas(64) float total[kPatchSamples] = {};
    for (int i = 0; i < views_; ++i) {
      const float w = static_cast<float>(weight_[i]);
      for (int s = 0; s < kPatchSamples; ++s) total[s] += w * samples_[k][i][s];
    }
    out.c[k] = pairs > 1e-9 ? (static_cast<double>(dot(total, total)) - squares) / pairs : -1;
    if (out.c[k] > out.c[out.peak]) out.peak = k;
  }
  return out;
}

void PatchSampler::reweight(int offset) {
  std::array<double, kMostPatchViews> agreement{};
  for (int i = 0; i < views_; ++i) {
    double sum = 0, weights = 0;
    for (int j = 0; j < views_; ++j) {
      if (j == i) continue;
      sum += weight_[j] * static_cast<double>(dot(samples_[offset][i], samples_[offset][j]));
      weights += weight_[j];
    }
    agreement[i] = weights > 0 ? sum / weights : 0;
  }
  const double best = *std::max_element(agreement.begin(), agreement.begin() + views_);
  for (int i = 0; i < views_; ++i) {
    const double relative = best > 0 ? agreement[i] / best : 1;
    weight_[i] *= std::clamp((relative - 0.4) / 0.4, 0.02, 1.0);
  }
}

PatchPeak PatchSampler::best() {
  PatchPeak out;
  if (views_ < 2) return out;
  Scores scores = score();
  if (views_ > 2) {
    reweight(scores.peak);
    scores = score();
  }
  const int k = scores.peak;
  out.correlation = scores.c[k];
  out.offset_mm = offsetMm(k);
  const double most = *std::max_element(weight_.begin(), weight_.begin() + views_);
  for (int i = 0; i < views_; ++i) out.views += weight_[i] > 0.3 * most;
  if (k == 0 || k == kPatchOffsets - 1) return out;
  constexpr int each_side = kPatchOffsets / 2;
  const double step = reach_mm_ / each_side;
  const double second = scores.c[k - 1] - 2 * scores.c[k] + scores.c[k + 1];
  if (second >= -1e-9) return out;
  out.offset_mm += step * 0.5 * (scores.c[k - 1] - scores.c[k + 1]) / second;
  out.curvature = -second / (step * step);
  return out;
}

}  // namespace holdshelf
