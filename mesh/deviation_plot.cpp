// SPDX-License-Identifier: Apache-2.0
#include "mesh/deviation_plot.h"

#include <cairo.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "mesh/shade.h"

namespace holdshelf {
namespace {

using Eigen::Vector2d;
using Eigen::Vector3d;

constexpr int kWidth = 1000;
constexpr int kViewWidth = 320, kViewHeight = 290;
constexpr int kFine = 2;  // Pixels to a unit of the paper.
constexpr double kViewsTop = 112, kLegendTop = 470;
constexpr std::size_t kMostListed = 6;

/// 0 within the detection limit, so that only what counts is coloured; the rest as it is. Lost
/// material is positive here: it is painted red.
std::vector<float> painted(const Deviation& deviation) {
  std::vector<float> values = deviation.signed_mm;
  for (float& v : values)
    if (!std::isnan(v)) v = std::abs(v) < deviation.limit_mm ? 0 : -v;
  return values;
}

struct DeviationView {
  RasterCamera camera;
  RasterImage image;
};

DeviationView viewFrom(const TriangleMesh& mesh, const std::vector<float>& values, double scale_mm,
                       double elevation_deg) {
  const double e = elevation_deg * M_PI / 180;
  DeviationView view;
  view.camera = fitOrthographic(mesh, Vector3d(0, std::sin(e), std::cos(e)), Vector3d::UnitY(),
                                kFine * kViewWidth, kFine * kViewHeight, 0.05);
  ShadeOptions options;
  options.scalars = values;
  options.scalar_low = -scale_mm;
  options.scalar_high = scale_mm;
  options.map = ColourMap::Diverging;
  view.image = renderMesh(mesh, view.camera, Vector3d::UnitY(), options);
  return view;
}

/// Numbers of the lost pieces where the view sees them.
void markPieces(Pen& pen, const TriangleMesh& mesh, const DeviationView& view, const Vector2d& at,
                const std::vector<LostPiece>& pieces) {
  const Raster raster = rasterise(mesh, view.camera);
  for (std::size_t i = 0; i < std::min(pieces.size(), kMostListed); ++i) {
    const Vector3d seen = view.camera.project(pieces[i].centre_mm);
    const int x = static_cast<int>(std::lround(seen.x())), y = static_cast<int>(seen.y());
    if (x < 0 || y < 0 || x >= raster.width_px || y >= raster.height_px) continue;
    if (raster.depth_mm[raster.index(x, y)] < seen.z() - 3) continue;  // Behind something.
    const Vector2d place = at + seen.head<2>() / kFine;
    pen.circle(place, 15, 1.2);
    pen.text(place + Vector2d(17, -9), std::to_string(i + 1), 13, 0, true);
  }
}

void drawLegend(Pen& pen, double scale_mm, double limit_mm) {
  const double left = 40, width = 440, height = 20;
  constexpr int kSteps = 220;
  for (int i = 0; i < kSteps; ++i) {
    const double t = (i + 0.5) / kSteps, value = (2 * t - 1) * scale_mm;
    const Rgb c = mapColour(ColourMap::Diverging, std::abs(value) < limit_mm ? 0.5 : t);
    cairo_set_source_rgb(pen.raw(), c[0] / 255.0, c[1] / 255.0, c[2] / 255.0);
    cairo_rectangle(pen.raw(), left + width * i / kSteps, kLegendTop, width / kSteps + 0.6, height);
    cairo_fill(pen.raw());
  }
  pen.grey(0.2);
  cairo_set_line_width(pen.raw(), 0.8);
  cairo_rectangle(pen.raw(), left, kLegendTop, width, height);
  cairo_stroke(pen.raw());
  pen.grey(0);
  const auto tick = [&](double value_mm, const std::string& words) {
    const double x = left + width * (value_mm / scale_mm + 1) / 2;
    pen.line({x, kLegendTop + height}, {x, kLegendTop + height + 4});
    pen.text({x, kLegendTop + height + 17}, words, 11, 0.5);
  };
  const int decimals = scale_mm < 1 ? 1 : 0;
  tick(-scale_mm, fixed(scale_mm, decimals));
  tick(scale_mm, fixed(scale_mm, decimals) + " mm");
  tick(-limit_mm, fixed(limit_mm, 2));
  tick(limit_mm, fixed(limit_mm, 2));
  pen.text({left, kLegendTop - 7}, "seems to be more", 12);
  pen.text({left + width / 2, kLegendTop - 7}, "within the limit", 12, 0.5);
  pen.text({left + width, kLegendTop - 7}, "gone", 12, 1);
  pen.text(
      {left, kLegendTop + height + 40},
      "Grey: not compared (bolt hole, foot, back, guesswork). Means over patches of some 5 mm.",
      11);
}

void listPieces(Pen& pen, const std::vector<LostPiece>& pieces) {
  const Vector2d at(530, kLegendTop - 7);
  if (pieces.empty()) {
    pen.text(at, "No piece of the surface is surely gone.", 12);
    return;
  }
  for (std::size_t i = 0; i < std::min(pieces.size(), kMostListed); ++i) {
    const LostPiece& piece = pieces[i];
    pen.text(at + Vector2d(0, 17.0 * static_cast<double>(i)),
             std::to_string(i + 1) + "   " + withSigma(piece.volume_mm3, " mm³") + " gone over " +
                 fixed(piece.area_mm2, 0) + " mm², " + fixed(piece.deepest_mm, 2) +
                 " mm at the deepest",
             12);
  }
  if (pieces.size() > kMostListed)
    pen.text(at + Vector2d(0, 17.0 * kMostListed),
             "and " + std::to_string(pieces.size() - kMostListed) + " smaller", 12);
}

}  // namespace

double deviationScale_mm(const Deviation& deviation) {
  double deepest = 2 * deviation.limit_mm;
  for (const LostPiece& piece : deviation.pieces) deepest = std::max(deepest, piece.deepest_mm);
  for (const double end : {0.2, 0.5, 1.0, 2.0, 5.0})
    if (deepest <= end) return end;
  return 10;
}

Plot plotDeviation(const TriangleMesh& baseline, const Deviation& deviation,
                   const std::string& title, const std::vector<std::string>& words) {
  const std::vector<float> values = painted(deviation);
  const double scale = deviationScale_mm(deviation);
  const std::pair<double, const char*> directions[] = {
      {0, "as the climber sees it"}, {55, "from 55° above"}, {-55, "from 55° below"}};
  std::vector<DeviationView> views;
  for (const auto& [elevation, name] : directions)
    views.push_back(viewFrom(baseline, values, scale, elevation));
  const int height = static_cast<int>(kLegendTop) + 90;
  return drawPlot(kWidth, height, [&](Pen& pen) {
    pen.text({24, 30}, title, 17, 0, true);
    for (std::size_t i = 0; i < words.size(); ++i)
      pen.text({24, 51 + 17 * static_cast<double>(i)}, words[i], 12);
    for (std::size_t i = 0; i < views.size(); ++i) {
      const Vector2d at(10 + (kViewWidth + 10) * static_cast<double>(i), kViewsTop);
      pen.image(views[i].image, at, kFine);
      pen.text(at + Vector2d(kViewWidth / 2.0, -8), directions[i].second, 12, 0.5);
      markPieces(pen, baseline, views[i], at, deviation.pieces);
      pen.scaleBar(at + Vector2d(90, kViewHeight + 22), views[i].camera.fx / kFine, 20);
    }
    drawLegend(pen, scale, deviation.limit_mm);
    listPieces(pen, deviation.pieces);
  });
}

}  // namespace holdshelf
