// SPDX-License-Identifier: Apache-2.0
#include "mesh/slope_bands.h"

#include <Eigen/Core>
#include <algorithm>
#include <cmath>
#include <utility>

#include "mesh/raster.h"

namespace holdshelf {
namespace {

constexpr std::int16_t kNothing = -1;

bool edgeBetween(const SlopeBands& map, std::size_t i, std::size_t j, float step_mm) {
  const bool here = map.band[i] >= 0, there = map.band[j] >= 0;
  return here != there || (here && std::abs(map.depth_mm[i] - map.depth_mm[j]) > step_mm);
}

/// Ink of a fine pixel: 1 none, 0 black.
float inkAt(const SlopeBands& map, int x, int y, int fine) {
  const std::size_t i = map.index(x, y);
  const int line = fine / 2;
  float ink = 1;
  for (int d = 1; d <= line; ++d)
    for (const auto& [dx, dy] : {std::pair{d, 0}, {-d, 0}, {0, d}, {0, -d}}) {
      const int u = std::clamp(x + dx, 0, map.width_px - 1),
                v = std::clamp(y + dy, 0, map.height_px - 1);
      const std::size_t j = map.index(u, v);
      if (edgeBetween(map, i, j, 3)) return 0;
      if (map.band[j] != map.band[i] && d == 1) ink = 0.25f;
    }
  const int band = map.band[i];
  if (band == kUnseenBand)
    return x % (3 * fine) < fine && y % (3 * fine) < fine ? std::min(ink, 0.6f) : ink;
  const int pitch = 7 * fine;
  if (band >= kGripBand && (x + y) % pitch < fine / 2) ink = std::min(ink, 0.45f);
  if (band >= kIncutBand && (x - y + 100 * pitch) % pitch < fine / 2)
    ink = 1.9f;  // Light lines on the darkest tone.
  return ink;
}

}  // namespace

SlopeBands slopeBandsOf(const TriangleMesh& mesh, const std::vector<float>& slope_deg,
                        const RasterCamera& camera) {
  const Raster raster = rasterise(mesh, camera);
  const auto normals = rasterNormals(mesh, raster, vertexNormals(mesh));
  const Eigen::Matrix3f R = camera.T_camera_mesh.rotation().cast<float>();
  SlopeBands map{raster.width_px, raster.height_px, {}, raster.depth_mm, {}};
  map.band.assign(raster.triangle.size(), kNothing);
  map.light.assign(raster.triangle.size(), 1);
  for (std::size_t i = 0; i < map.band.size(); ++i) {
    if (!raster.covered(i)) continue;
    const Eigen::Vector3i& t = mesh.triangles[raster.triangle[i]];
    const float b = raster.weights[i].x(), c = raster.weights[i].y();
    const float slope = (1 - b - c) * slope_deg[t[0]] + b * slope_deg[t[1]] + c * slope_deg[t[2]];
    map.band[i] = static_cast<std::int16_t>(std::clamp(
        static_cast<int>(slope / static_cast<float>(kSlopeBand_deg)), 0, kSlopeBands - 1));
    if (!mesh.guesswork.empty() && (1 - b - c) * static_cast<float>(mesh.guesswork[t[0]]) +
                                           b * static_cast<float>(mesh.guesswork[t[1]]) +
                                           c * static_cast<float>(mesh.guesswork[t[2]]) >
                                       0.5f)
      map.band[i] = kUnseenBand;
    map.light[i] = 0.88f + 0.12f * std::abs((R * normals[i]).z());
  }
  return map;
}

std::vector<BandPatch> patchesOf(const SlopeBands& map) {
  std::vector<BandPatch> patches;
  std::vector<bool> seen(map.band.size(), false);
  for (std::size_t start = 0; start < map.band.size(); ++start) {
    if (seen[start] || map.band[start] < 0) continue;
    BandPatch patch{{start}, map.band[start]};
    seen[start] = true;
    for (std::size_t k = 0; k < patch.pixels.size(); ++k) {
      const std::size_t i = patch.pixels[k];
      const int x = static_cast<int>(i % static_cast<std::size_t>(map.width_px));
      const int y = static_cast<int>(i / static_cast<std::size_t>(map.width_px));
      for (const auto& [dx, dy] : {std::pair{1, 0}, {-1, 0}, {0, 1}, {0, -1}}) {
        if (x + dx < 0 || y + dy < 0 || x + dx >= map.width_px || y + dy >= map.height_px) continue;
        const std::size_t j = map.index(x + dx, y + dy);
        if (seen[j] || map.band[j] != patch.band) continue;
        seen[j] = true;
        patch.pixels.push_back(j);
      }
    }
    patches.push_back(std::move(patch));
  }
  return patches;
}

void dropSpecks(SlopeBands& map, std::size_t pixels) {
  for (const BandPatch& patch : patchesOf(map)) {
    if (patch.pixels.size() > pixels) continue;
    for (std::size_t i : patch.pixels)
      if (i > 0 && map.band[i - 1] >= 0) map.band[i] = map.band[i - 1];
  }
}

Rgb bandColour(int band) {
  static constexpr Rgb kColours[kSlopeBands + 1] = {
      {253, 248, 232}, {250, 232, 190}, {246, 210, 148}, {240, 184, 112}, {228, 154, 88},
      {206, 122, 80},  {172, 92, 84},   {128, 66, 92},   {255, 255, 255}};
  return kColours[band];
}

RasterImage paintedBands(const SlopeBands& map, int fine, int shrink) {
  RasterImage image{map.width_px / shrink, map.height_px / shrink, {}};
  image.rgb.resize(3 * static_cast<std::size_t>(image.width_px * image.height_px));
  for (int y = 0; y < image.height_px; ++y)
    for (int x = 0; x < image.width_px; ++x) {
      float sum[3] = {0, 0, 0};
      for (int k = 0; k < shrink * shrink; ++k) {
        const int u = x * shrink + k % shrink, v = y * shrink + k / shrink;
        const std::size_t i = map.index(u, v);
        const Rgb colour = map.band[i] < 0 ? Rgb{255, 255, 255} : bandColour(map.band[i]);
        const float light = map.band[i] < 0 ? 1 : map.light[i] * inkAt(map, u, v, fine);
        for (int c = 0; c < 3; ++c) sum[c] += light * colour[c] / (shrink * shrink);
      }
      for (int c = 0; c < 3; ++c)
        image.rgb[3 * static_cast<std::size_t>(y * image.width_px + x) + c] =
            static_cast<std::uint8_t>(std::min(sum[c], 255.0f));
    }
  return image;
}

}  // namespace holdshelf
