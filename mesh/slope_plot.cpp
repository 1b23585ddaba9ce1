// SPDX-License-Identifier: Apache-2.0
#include "mesh/slope_plot.h"

#include <cairo.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <string>
#include <utility>
#include <vector>

#include "mesh/label_room.h"
#include "mesh/raster_camera.h"
#include "mesh/slope_bands.h"
#include "mesh/slope_map.h"

namespace holdshelf {
namespace {

using Eigen::Vector2d;

constexpr int kWidth = 880, kHeight = 590;
constexpr int kViewWidth = 400, kViewHeight = 380;  ///< On paper; pixels are kFine times finer.
constexpr int kFine = 4;

std::string bandName(int band) {
  if (band == kUnseenBand) return "not seen";
  const std::string from = fixed(band * kSlopeBand_deg, 0);
  return band + 1 == kSlopeBands ? "over " + from + "°"
                                 : from + "–" + fixed((band + 1) * kSlopeBand_deg, 0) + "°";
}

/// One view with its labels.
struct View {
  RasterCamera camera;
  RasterImage image;
  std::vector<std::pair<LabelRoom, int>> labels;
  double units_per_mm() const { return camera.fx / kFine; }
};

View viewFrom(const TriangleMesh& mesh, const std::vector<float>& slope,
              const Eigen::Vector3d& from) {
  View view;
  view.camera = fitOrthographic(mesh, from, Eigen::Vector3d::UnitY(), kFine * kViewWidth,
                                kFine * kViewHeight, 0.06);
  SlopeBands map = slopeBandsOf(mesh, slope, view.camera);
  dropSpecks(map, 40 * kFine);
  view.image = paintedBands(map, kFine, kFine / 2);
  std::vector<BandPatch> patches = patchesOf(map);
  std::sort(patches.begin(), patches.end(), [](const BandPatch& a, const BandPatch& b) {
    return a.pixels.size() > b.pixels.size();
  });
  for (const BandPatch& patch : patches) {
    if (patch.pixels.size() < 900 * kFine) break;
    const LabelRoom room = labelRoomIn(map, patch);
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
  for (int band = 0; band < kSlopeBands; ++band) {
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
