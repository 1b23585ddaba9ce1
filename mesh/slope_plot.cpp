// SPDX-License-Identifier: Apache-2.0
#include "mesh/slope_plot.h"

#include <cairo.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <memory>

#include "mesh/raster.h"
#include "mesh/slope_map.h"

namespace holdshelf {
namespace {

using Eigen::Vector2d;

constexpr int kWidth = 880, kHeight = 590;
constexpr int kViewWidth = 400, kViewHeight = 380;  ///< On paper; pixels are kFine times finer.
constexpr int kFine = 4;
constexpr int kBands = 8;
constexpr double kBand_deg = 15;
constexpr int kGripBand = 5, kIncutBand = 7;  ///< Bands from 75 and from 105 degrees.

constexpr std::int16_t kNothing = -1, kUnseen = kBands;

/// From pale (faces the climber) to dark (falls in), each a step darker in grey too.
Rgb bandColour(int band) {
  static constexpr Rgb kColours[kBands + 1] = {{253, 248, 232}, {250, 232, 190}, {246, 210, 148},
                                               {240, 184, 112}, {228, 154, 88},  {206, 122, 80},
                                               {172, 92, 84},   {128, 66, 92},   {255, 255, 255}};
  return kColours[band];
}

/// What a view shows, a band a fine pixel; kUnseen where the mesh is guesswork.
struct BandMap {
  int width = 0, height = 0;
  std::vector<std::int16_t> band;
  std::vector<float> depth_mm, light;

  std::size_t index(int x, int y) const {
    return static_cast<std::size_t>(y) * static_cast<std::size_t>(width) +
           static_cast<std::size_t>(x);
  }
};

BandMap bandsOf(const TriangleMesh& mesh, const std::vector<float>& slope_deg,
                const RasterCamera& camera) {
  const Raster raster = rasterise(mesh, camera);
  const auto normals = rasterNormals(mesh, raster, vertexNormals(mesh));
  const Eigen::Matrix3f R = camera.T_camera_mesh.rotation().cast<float>();
  BandMap map{raster.width_px, raster.height_px, {}, raster.depth_mm, {}};
  map.band.assign(raster.triangle.size(), kNothing);
  map.light.assign(raster.triangle.size(), 1);
  for (std::size_t i = 0; i < map.band.size(); ++i) {
    if (!raster.covered(i)) continue;
    const Eigen::Vector3i& t = mesh.triangles[raster.triangle[i]];
    const float b = raster.weights[i].x(), c = raster.weights[i].y();
    const float slope = (1 - b - c) * slope_deg[t[0]] + b * slope_deg[t[1]] + c * slope_deg[t[2]];
    map.band[i] = static_cast<std::int16_t>(
        std::clamp(static_cast<int>(slope / static_cast<float>(kBand_deg)), 0, kBands - 1));
    if (!mesh.guesswork.empty() && (1 - b - c) * static_cast<float>(mesh.guesswork[t[0]]) +
                                           b * static_cast<float>(mesh.guesswork[t[1]]) +
                                           c * static_cast<float>(mesh.guesswork[t[2]]) >
                                       0.5f)
      map.band[i] = kUnseen;
    map.light[i] = 0.88f + 0.12f * std::abs((R * normals[i]).z());
  }
  return map;
}

/// Connected pixels of one band.
struct Patch {
  std::vector<std::size_t> pixels;
  int band = 0;
};

std::vector<Patch> patchesOf(const BandMap& map) {
  std::vector<Patch> patches;
  std::vector<bool> seen(map.band.size(), false);
  for (std::size_t start = 0; start < map.band.size(); ++start) {
    if (seen[start] || map.band[start] < 0) continue;
    Patch patch{{start}, map.band[start]};
    seen[start] = true;
    for (std::size_t k = 0; k < patch.pixels.size(); ++k) {
      const std::size_t i = patch.pixels[k];
      const int x = static_cast<int>(i % static_cast<std::size_t>(map.width));
      const int y = static_cast<int>(i / static_cast<std::size_t>(map.width));
      for (const auto& [dx, dy] : {std::pair{1, 0}, {-1, 0}, {0, 1}, {0, -1}}) {
        if (x + dx < 0 || y + dy < 0 || x + dx >= map.width || y + dy >= map.height) continue;
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

/// Specks too small to see take the band before them, so that lines stay lines.
void dropSpecks(BandMap& map) {
  for (const Patch& patch : patchesOf(map)) {
    if (patch.pixels.size() > 40 * kFine) continue;
    for (std::size_t i : patch.pixels)
      if (i > 0 && map.band[i - 1] >= 0) map.band[i] = map.band[i - 1];
  }
}

bool edgeBetween(const BandMap& map, std::size_t i, std::size_t j, float step_mm) {
  const bool here = map.band[i] >= 0, there = map.band[j] >= 0;
  return here != there || (here && std::abs(map.depth_mm[i] - map.depth_mm[j]) > step_mm);
}

/// Ink of a fine pixel: 1 none, 0 black.
float inkAt(const BandMap& map, int x, int y) {
  const std::size_t i = map.index(x, y);
  constexpr int kLine = kFine / 2;
  float ink = 1;
  for (int d = 1; d <= kLine; ++d)
    for (const auto& [dx, dy] : {std::pair{d, 0}, {-d, 0}, {0, d}, {0, -d}}) {
      const int u = std::clamp(x + dx, 0, map.width - 1), v = std::clamp(y + dy, 0, map.height - 1);
      const std::size_t j = map.index(u, v);
      if (edgeBetween(map, i, j, 3)) return 0;
      if (map.band[j] != map.band[i] && d == 1) ink = 0.25f;
    }
  const int band = map.band[i];
  if (band == kUnseen)
    return x % (3 * kFine) < kFine && y % (3 * kFine) < kFine ? std::min(ink, 0.6f) : ink;
  constexpr int kPitch = 7 * kFine;
  if (band >= kGripBand && (x + y) % kPitch < kFine / 2) ink = std::min(ink, 0.45f);
  if (band >= kIncutBand && (x - y + 100 * kPitch) % kPitch < kFine / 2)
    ink = 1.9f;  // Light lines on the darkest tone.
  return ink;
}

/// The view at half the fine pixels: what the PNG shows pixel for pixel.
RasterImage painted(const BandMap& map) {
  constexpr int kShrink = kFine / 2;
  RasterImage image{map.width / kShrink, map.height / kShrink, {}};
  image.rgb.resize(3 * static_cast<std::size_t>(image.width_px * image.height_px));
  for (int y = 0; y < image.height_px; ++y)
    for (int x = 0; x < image.width_px; ++x) {
      float sum[3] = {0, 0, 0};
      for (int k = 0; k < kShrink * kShrink; ++k) {
        const int u = x * kShrink + k % kShrink, v = y * kShrink + k / kShrink;
        const std::size_t i = map.index(u, v);
        const Rgb colour = map.band[i] < 0 ? Rgb{255, 255, 255} : bandColour(map.band[i]);
        const float light = map.band[i] < 0 ? 1 : map.light[i] * inkAt(map, u, v);
        for (int c = 0; c < 3; ++c) sum[c] += light * colour[c] / (kShrink * kShrink);
      }
      for (int c = 0; c < 3; ++c)
        image.rgb[3 * static_cast<std::size_t>(y * image.width_px + x) + c] =
            static_cast<std::uint8_t>(std::min(sum[c], 255.0f));
    }
  return image;
}

/// Where in a patch a label has most room, in fine pixels, and how much: the farthest a square of
/// pixels reaches without leaving it.
struct Room {
  Vector2d at{0, 0};
  int half = 0;
};

Room roomIn(const BandMap& map, const Patch& patch) {
  // Chessboard distance to the patch's border by two sweeps over its box.
  int x0 = map.width, x1 = 0, y0 = map.height, y1 = 0;
  for (std::size_t i : patch.pixels) {
    const int x = static_cast<int>(i % static_cast<std::size_t>(map.width));
    const int y = static_cast<int>(i / static_cast<std::size_t>(map.width));
    x0 = std::min(x0, x), x1 = std::max(x1, x), y0 = std::min(y0, y), y1 = std::max(y1, y);
  }
  const int w = x1 - x0 + 3, h = y1 - y0 + 3;
  std::vector<int> reach(static_cast<std::size_t>(w * h), 0);
  for (std::size_t i : patch.pixels) {
    const int x = static_cast<int>(i % static_cast<std::size_t>(map.width)) - x0 + 1;
    const int y = static_cast<int>(i / static_cast<std::size_t>(map.width)) - y0 + 1;
    reach[static_cast<std::size_t>(y * w + x)] = w + h;
  }
  const auto sweep = [&](int y, int x, int sign) {
    int& r = reach[static_cast<std::size_t>(y * w + x)];
    if (r == 0) return;
    for (const auto& [dx, dy] : {std::pair{-1, 0}, {0, -1}, {-1, -1}, {1, -1}})
      r = std::min(r, reach[static_cast<std::size_t>((y + sign * dy) * w + x + sign * dx)] + 1);
  };
  for (int y = 1; y < h - 1; ++y)
    for (int x = 1; x < w - 1; ++x) sweep(y, x, 1);
  for (int y = h - 2; y > 0; --y)
    for (int x = w - 2; x > 0; --x) sweep(y, x, -1);
  Room room;
  Vector2d sum(0, 0);
  int count = 0;
  for (int y = 1; y < h - 1; ++y)
    for (int x = 1; x < w - 1; ++x) {
      const int r = reach[static_cast<std::size_t>(y * w + x)];
      if (r > room.half) room.half = r, sum.setZero(), count = 0;
      if (r == room.half && r > 0) sum += Vector2d(x + x0 - 1, y + y0 - 1), ++count;
    }
  // The middle of a long strip's ridge, when it lies in the strip.
  const Vector2d mean = sum / std::max(1, count);
  room.at = mean;
  double best = 1e300;
  for (int y = 1; y < h - 1; ++y)
    for (int x = 1; x < w - 1; ++x) {
      const Vector2d p(x + x0 - 1, y + y0 - 1);
      if (reach[static_cast<std::size_t>(y * w + x)] == room.half && (p - mean).norm() < best)
        best = (p - mean).norm(), room.at = p;
    }
  return room;
}

std::string bandName(int band) {
  if (band == kUnseen) return "not seen";
  const std::string from = fixed(band * kBand_deg, 0);
  return band + 1 == kBands ? "over " + from + "°"
                            : from + "–" + fixed((band + 1) * kBand_deg, 0) + "°";
}

/// One view with its labels.
struct View {
  RasterCamera camera;
  RasterImage image;
  std::vector<std::pair<Room, int>> labels;
  double units_per_mm() const { return camera.fx / kFine; }
};

View viewFrom(const TriangleMesh& mesh, const std::vector<float>& slope,
              const Eigen::Vector3d& from) {
  View view;
  view.camera = fitOrthographic(mesh, from, Eigen::Vector3d::UnitY(), kFine * kViewWidth,
                                kFine * kViewHeight, 0.06);
  BandMap map = bandsOf(mesh, slope, view.camera);
  dropSpecks(map);
  view.image = painted(map);
  std::vector<Patch> patches = patchesOf(map);
  std::sort(patches.begin(), patches.end(),
            [](const Patch& a, const Patch& b) { return a.pixels.size() > b.pixels.size(); });
  for (const Patch& patch : patches) {
    if (patch.pixels.size() < 900 * kFine) break;
    const Room room = roomIn(map, patch);
    bool free = room.half >= 6 * kFine;
    for (const auto& [other, band] : view.labels)
      free = free && (std::abs(other.at.x() - room.at.x()) > 44 * kFine ||
                      std::abs(other.at.y() - room.at.y()) > 15 * kFine);
    if (free) view.labels.emplace_back(room, patch.band);
  }
  return view;
}

void drawView(Pen& pen, const View& view, const Vector2d& at) {
  pen.image(view.image, at, 2);
  for (const auto& [room, band] : view.labels)
    pen.text(at + room.at / kFine + Vector2d(0, 4), bandName(band), 11, 0.5, band >= kGripBand);
}

void drawLegend(Pen& pen) {
  const double left = 30, top = 512, width = 102, height = 22;
  for (int band = 0; band < kBands; ++band) {
    const double x = left + width * band;
    const Rgb c = bandColour(band);
    cairo_set_source_rgb(pen.raw(), c[0] / 255.0, c[1] / 255.0, c[2] / 255.0);
    cairo_rectangle(pen.raw(), x, top, width, height);
    cairo_fill_preserve(pen.raw());
    cairo_save(pen.raw());
    cairo_clip_preserve(pen.raw());
    pen.grey(0.3);
    cairo_new_path(pen.raw());
    for (double k = -height; k < width && band >= kGripBand; k += 7)
      pen.line({x + k, top + height}, {x + k + height, top}, 0.5);
    if (band >= kIncutBand) pen.grey(0.85);
    for (double k = -height; k < width && band >= kIncutBand; k += 7)
      pen.line({x + k, top}, {x + k + height, top + height}, 0.5);
    cairo_restore(pen.raw());
    pen.grey(0.2);
    cairo_set_line_width(pen.raw(), 0.8);
    cairo_rectangle(pen.raw(), x, top, width, height);
    cairo_stroke(pen.raw());
    pen.grey(0);
    pen.text({x + width / 2, top + height + 15}, bandName(band), 11, 0.5);
  }
  const double words = top - 7;
  pen.text({left, words}, "faces the climber", 12);
  pen.text({left + 3.5 * width, words}, "slopes away", 12, 0.5);
  pen.text({left + 6 * width, words}, "square to the wall", 12, 0.5);
  pen.text({left + 8 * width, words}, "falls in", 12, 1);
  pen.text({left, top + height + 36},
           "0° is parallel to the wall, 90° square to it, more looks at the wall. Hatched: can be "
           "pulled on, when the pull comes that way.",
           12);
}

}  // namespace

Plot plotSlope(const TriangleMesh& mesh) {
  const std::vector<float> slope = slopeMap_deg(mesh, 3);
  const Eigen::Vector3d above(0, std::sin(50 * M_PI / 180), std::cos(50 * M_PI / 180));
  const View front = viewFrom(mesh, slope, Eigen::Vector3d::UnitZ());
  const View top = viewFrom(mesh, slope, above);
  Eigen::AlignedBox3d box;
  for (const Eigen::Vector3d& v : mesh.vertices_mm) box.extend(v);
  const Eigen::Vector3d size = box.sizes();
  return drawPlot(kWidth, kHeight, [&](Pen& pen) {
    pen.text({24, 32}, "Slope of the surface", 17, 0, true);
    pen.text({24, 52},
             fixed(size.x(), 0) + " mm wide, " + fixed(size.y(), 0) +
                 " mm high, stands off the wall by " + fixed(std::max(0.0, box.max().z()), 0) +
                 " mm",
             12);
    drawView(pen, front, {30, 92});
    drawView(pen, top, {450, 92});
    pen.text({230, 84}, "as the climber sees it", 12, 0.5);
    pen.text({650, 84}, "from 50° above", 12, 0.5);
    pen.scaleBar({110, 470}, front.units_per_mm(), 20);
    pen.scaleBar({530, 470}, top.units_per_mm(), 20);
    drawLegend(pen);
  });
}

}  // namespace holdshelf
