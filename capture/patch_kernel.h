// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <opencv2/core.hpp>

namespace holdshelf {

/// Taps of a matching window: every second pixel of 7 by 7, chequered, without the centre, which
/// keeps the count a multiple of the vector width.
inline constexpr int kPatchTaps = 24;

/// A view's own window, normalised: sum of `reference` is 0, sum of `weight` is 1, and the
/// correlation with samples s is sum(reference s) / sqrt(var_weight(s)).
struct PatchWindow {
  alignas(64) float weight[kPatchTaps];
  alignas(64) float reference[kPatchTaps];
  bool flat = true;  ///< Too little contrast to compare with.
};

/// Affine map of window offsets into a source image: (u, v) + [ux uy; vx vy] (dx, dy).
struct PatchWarp {
  float u, v, ux, uy, vx, vy;
};

/// The window around (x, y); taps outside the image or the mask weigh nothing.
PatchWindow patchWindow(const cv::Mat_<float>& grey, const cv::Mat_<std::uint8_t>& mask, int x,
                        int y);

/// Zero-mean normalised cross-correlation, -1 to 1; -1 when the warped window leaves the source (or
/// comes within 0.01 px of its last row or column) or either window is flat.
float patchCorrelation(const PatchWindow& window, const cv::Mat_<float>& source,
                       const PatchWarp& warp);

}  // namespace holdshelf
