// SPDX-License-Identifier: Apache-2.0
#include "capture/patch_kernel.h"

#include <cmath>

#include "capture/wide_vectors.h"

namespace holdshelf {
namespace {

constexpr int kRadius = 3;
// Grey levels (of 255): below this the window is noise.
constexpr float kFlatDeviation = 0.6f;
// A tap's place is summed in another order than the window's reach, and may come out farther by the
// last digits of a float: 0.001 px in a photo of 16 000 rows.
constexpr float kMargin_px = 0.01f;

struct Taps {
  alignas(64) float dx[kPatchTaps];
  alignas(64) float dy[kPatchTaps];
  alignas(64) float fall[kPatchTaps];  // Gaussian of the distance to the centre.
  Taps() {
    int k = 0;
    for (int y = -kRadius; y <= kRadius; ++y)
      for (int x = -kRadius; x <= kRadius; ++x) {
        if ((x + y) % 2 != 0 || (x == 0 && y == 0)) continue;
        dx[k] = static_cast<float>(x);
        dy[k] = static_cast<float>(y);
        fall[k] = std::exp(-static_cast<float>(x * x + y * y) / (2 * 2.2f * 2.2f));
        ++k;
      }
  }
};
const Taps kTaps;

struct Moments {
  float cross, mean, square;
};

/// Sums over the taps of bilinear samples at `data`; the caller has checked the bounds.
HOLDSHELF_WIDE_VECTORS Moments sampleMoments(const float* data, int stride, const PatchWarp& w,
                                             const float* dx, const float* dy, const float* weight,
                                             const float* reference) {
  float cross = 0, mean = 0, square = 0;
#pragma omp simd reduction(+ : cross, mean, square)
  for (int k = 0; k < kPatchTaps; ++k) {
    const float x = w.u + w.ux * dx[k] + w.uy * dy[k];
    const float y = w.v + w.vx * dx[k] + w.vy * dy[k];
    const int ix = static_cast<int>(x), iy = static_cast<int>(y);
    const float fx = x - static_cast<float>(ix), fy = y - static_cast<float>(iy);
    const int at = iy * stride + ix;
    const float a = data[at], b = data[at + 1], c = data[at + stride], d = data[at + stride + 1];
    const float top = a + fx * (b - a), bottom = c + fx * (d - c);
    const float s = top + fy * (bottom - top);
    cross += reference[k] * s;
    mean += weight[k] * s;
    square += weight[k] * s * s;
  }
  return {cross, mean, square};
}

}  // namespace

PatchWindow patchWindow(const cv::Mat_<float>& grey, const cv::Mat_<std::uint8_t>& mask, int x,
                        int y) {
  PatchWindow window;
  float total = 0, mean = 0, square = 0;
  for (int k = 0; k < kPatchTaps; ++k) {
    const int px = x + static_cast<int>(kTaps.dx[k]), py = y + static_cast<int>(kTaps.dy[k]);
    const bool inside = px >= 0 && py >= 0 && px < grey.cols && py < grey.rows && mask(py, px);
    window.weight[k] = inside ? kTaps.fall[k] : 0.f;
    window.reference[k] = inside ? grey(py, px) : 0.f;
    total += window.weight[k];
    mean += window.weight[k] * window.reference[k];
  }
  if (total <= 0) return window;
  mean /= total;
  for (int k = 0; k < kPatchTaps; ++k) {
    window.weight[k] /= total;
    window.reference[k] -= mean;
    square += window.weight[k] * window.reference[k] * window.reference[k];
  }
  const float deviation = std::sqrt(square);
  window.flat = deviation < kFlatDeviation;
  for (int k = 0; k < kPatchTaps; ++k)
    window.reference[k] *= window.weight[k] / std::max(deviation, 1e-6f);
  return window;
}

float patchCorrelation(const PatchWindow& window, const cv::Mat_<float>& source,
                       const PatchWarp& w) {
  if (window.flat) return -1;
  const float reach_u = kRadius * (std::abs(w.ux) + std::abs(w.uy));
  const float reach_v = kRadius * (std::abs(w.vx) + std::abs(w.vy));
  if (!(w.u - reach_u >= 0 && w.v - reach_v >= 0 &&
        w.u + reach_u < static_cast<float>(source.cols - 1) - kMargin_px &&
        w.v + reach_v < static_cast<float>(source.rows - 1) - kMargin_px))
    return -1;
  const Moments m = sampleMoments(source[0], static_cast<int>(source.step1()), w, kTaps.dx,
                                  kTaps.dy, window.weight, window.reference);
  const float variance = m.square - m.mean * m.mean;
  if (variance < kFlatDeviation * kFlatDeviation) return -1;
  return m.cross / std::sqrt(variance);
}

}  // namespace holdshelf
