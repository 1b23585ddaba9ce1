// SPDX-License-Identifier: Apache-2.0
#include "capture/mat_colours.h"

#include <algorithm>
#include <cmath>

#include "capture/colour_model.h"

namespace holdshelf {
namespace {

float gauss1(float d, float s) { return std::exp(-0.5f * d * d / (s * s)) / (2.5066f * s); }
float gauss2(float d2, float s) { return std::exp(-0.5f * d2 / (s * s)) / (6.2832f * s * s); }
float ramp(float v, float low, float high) {
  return v > low && v < high + 0.1f ? 1 / (high - low) : 0.f;
}

}  // namespace

float MatColours::logDensity(MatInk ink, const Eigen::Vector3f& f) const {
  const float c2 = f[1] * f[1] + f[2] * f[2];
  float p = std::exp(ColourModel::logFloor());
  switch (ink) {
    case MatInk::White:
      p += 0.7f * gauss1(f[0] - kPaper, std::max(sigma, 0.03f)) * gauss2(c2, 0.035f);
      p += 0.20f * ramp(f[0], -1.6f, kPaper) * gauss2(c2, 0.06f);
      p += 0.06f * ramp(f[0], -1.6f, kPaper) * gauss2(c2, 0.18f);  // The hold's light on it.
      break;
    case MatInk::Black:
      p += 0.60f * gauss1(f[0] - black_log, 0.35f) * gauss2(c2, 0.12f);
      p += 0.36f * ramp(f[0], kDarkest, black_log + 0.3f) * gauss2(c2, 0.25f);
      break;
    default:
      p += 0.76f * ramp(f[0], black_log - 0.2f, kPaper + 0.1f) * gauss2(c2, 0.10f);
      p += 0.20f * ramp(f[0], kDarkest, kPaper) * gauss2(c2, 0.22f);
  }
  return std::log(p);
}

bool MatColours::bare(MatInk ink, const Eigen::Vector3f& f) const {
  const float c = std::hypot(f[1], f[2]);
  if (ink == MatInk::White)
    return std::abs(f[0] - kPaper) < std::max(0.07f, 3.5f * sigma) && c < 0.10f;
  return f[0] < black_log + 0.5f && c < 0.35f;
}

bool MatColours::shadedPaper(const Eigen::Vector3f& f) {
  return f[0] > -1.2f && f[0] < kPaper + 0.25f && std::hypot(f[1], f[2]) < 0.2f;
}

bool MatColours::likely(MatInk ink, const Eigen::Vector3f& f) const {
  if (ink == MatInk::None) return false;
  if (ink == MatInk::Edge) return f[0] < kPaper + 0.1f && std::hypot(f[1], f[2]) < 0.12f;
  return bare(ink, f);
}

}  // namespace holdshelf
