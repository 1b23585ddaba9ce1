// SPDX-License-Identifier: Apache-2.0
#include "capture/printed_mat.h"

#include <algorithm>
#include <cmath>
#include <opencv2/aruco/dictionary.hpp>
#include <string>
#include <utility>
#include <vector>

#include "mesh/bad_input.h"
#include "mesh/pdf.h"

namespace holdshelf {
namespace {

/// Lengths in mm.
struct Layout {
  const char* paper;
  double width, height;  ///< Of the sheet, portrait (ISO 216).
  double side, gap;      ///< Of the markers.
  int columns, rows, first_id;

  double gridWidth() const { return columns * (side + gap) - gap; }
  double gridHeight() const { return rows * (side + gap) - gap; }
};

constexpr Layout kLayouts[] = {{"A4", 210, 297, 25, 6, 6, 8, 0},
                               {"A3", 297, 420, 27, 7, 8, 10, 48},
                               {"A2", 420, 594, 40, 10, 8, 10, 128}};
constexpr double kRulerStrip_mm = 18;  ///< At the sheet's lower edge.
constexpr int kStops = 12;

/// Draws on the sheet in millimetres from the mat's origin, y up.
class Page {
 public:
  Page(double width_mm, double height_mm, double origin_x_mm, double origin_y_mm)
      : sheet_(width_mm, height_mm), x0_(origin_x_mm), y0_(origin_y_mm) {}

  void rectangle(double x, double y, double width, double height) {
    boxes_.push_back({x0_ + x, sheet_.height_mm() - y0_ - y - height, width, height});
  }
  /// Fills the rectangles since the last fill as one shape: touching ones leave no hairline.
  void fill() { sheet_.fill(std::exchange(boxes_, {})); }
  void ellipse(double x, double y, double half_width, double half_height) {
    sheet_.ellipse(place(x, y), half_width, half_height);
  }
  void text(double x, double y, double size, const std::string& words, double anchor = 0) {
    sheet_.text(place(x, y), words, size, anchor);
  }
  std::string pdf() { return sheet_.finish(); }

 private:
  Eigen::Vector2d place(double x, double y) const {
    return {x0_ + x, sheet_.height_mm() - y0_ - y};
  }
  PdfSheets sheet_;
  double x0_, y0_;
  std::vector<PdfBox> boxes_;
};

/// Black cells of a marker, joined along rows.
void drawMarker(Page& page, int id, double left, double top, double side) {
  const auto dictionary = cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_250);
  const int cells = dictionary->markerSize + 2;
  cv::Mat pattern;
  dictionary->drawMarker(id, cells, pattern, 1);
  const double cell = side / cells;
  for (int row = 0; row < cells; ++row)
    for (int from = 0; from < cells;) {
      int to = from;
      while (to < cells && !pattern.at<unsigned char>(row, to)) ++to;
      if (to > from)
        page.rectangle(left + from * cell, top - (row + 1) * cell, (to - from) * cell, cell);
      from = to + 1;
    }
  page.fill();
}

void drawMarkers(Page& page, const Layout& layout, Mat& mat) {
  const double step = layout.side + layout.gap;
  for (int row = 0; row < layout.rows; ++row)
    for (int column = 0; column < layout.columns; ++column) {
      const double left = column * step - layout.gridWidth() / 2;
      const double top = layout.gridHeight() / 2 - row * step;
      Marker* marker = mat.add_markers();
      marker->set_id(layout.first_id + row * layout.columns + column);
      drawMarker(page, marker->id(), left, top, layout.side);
      for (const auto& [right, down] : {std::pair(0, 0), {1, 0}, {1, 1}, {0, 1}}) {
        MatPoint* corner = marker->add_corners();
        corner->set_x(left + right * layout.side);
        corner->set_y(top - down * layout.side);
      }
    }
}

/// Numbers where rays from the middle, 30 degrees apart, leave the grid: far enough from the
/// markers (a cell and more) not to disturb their edges.
void drawStops(Page& page, const Layout& layout) {
  const double off = 0.9 * layout.side / 7 + 2.2;
  const double half_x = layout.gridWidth() / 2 + off, half_y = layout.gridHeight() / 2 + off;
  for (int stop = 0; stop < kStops; ++stop) {
    const double angle =
        -M_PI / 2 + 2 * M_PI * stop / kStops;  // 1 at the bottom, where one stands.
    const double c = std::cos(angle), s = std::sin(angle);
    const double reach =
        std::min(half_x / std::max(1e-9, std::abs(c)), half_y / std::max(1e-9, std::abs(s)));
    page.text(reach * c, reach * s - 1, 3, std::to_string(stop + 1), 0.5);
  }
  const double arm = layout.gap / 2 - 1;
  page.rectangle(-arm, -0.1, 2 * arm, 0.2);
  page.rectangle(-0.1, -arm, 0.2, 2 * arm);
  page.fill();
}

void drawRuler(Page& page, const Layout& layout, double bottom) {
  const double left = -layout.gridWidth() / 2;
  for (int mm = 0; mm <= 100; ++mm) {
    const double length = mm % 10 == 0 ? 4 : mm % 5 == 0 ? 3 : 2;
    page.rectangle(left + mm - 0.05, bottom + 6, 0.1, length);
  }
  page.fill();
  for (int cm = 0; cm <= 10; ++cm)
    page.text(left + 10 * cm, bottom + 3.6, 2, std::to_string(10 * cm), 0.5);
  page.text(left + 106, bottom + 7.6, 2.4, "100 mm? If not, pass");
  page.text(left + 106, bottom + 4.4, 2.4, "--ruler 100=MEASURED");
  page.text(
      left, bottom + 0.6, 2.4,
      "Bolt hole on the cross. A photo at each of 1 to 12: low (15°), middle (40°), high (65°).");
}

/// Three marks that tell the camera's height: seen from elevation e, what lies on the table is
/// shortened by sin e along the line of sight, so a mark longer by 1 / sin e looks round there.
void drawAims(Page& page, const Layout& layout, double bottom) {
  constexpr double kRadius = 1.5;
  double x = layout.gridWidth() / 2 - 32;
  page.text(layout.gridWidth() / 2, bottom + 16, 2.2,
            "Seen from 1, the round one is your ring:", 1);
  for (const auto& [name, elevation_deg] :
       {std::pair("low", 15.0), std::pair("middle", 40.0), std::pair("high", 65.0)}) {
    page.ellipse(x, bottom + 9, kRadius, kRadius / std::sin(elevation_deg * M_PI / 180));
    page.text(x, bottom + 0.6, 2.2, name, 0.5);
    x += 14;
  }
}

}  // namespace

PrintedMat makeMat(const std::string& paper) {
  const auto* layout = std::find_if(std::begin(kLayouts), std::end(kLayouts),
                                    [&](const Layout& l) { return paper == l.paper; });
  if (layout == std::end(kLayouts))
    throw BadInput("There is no mat for \"" + paper.substr(0, 40) +
                   "\" paper; choose A4, A3 or A2.");
  PrintedMat out;
  out.mat.set_name("Holdshelf mat " + paper);
  out.mat.set_dictionary("DICT_5X5_250");
  out.mat.set_paper_width_mm(layout->width);
  out.mat.set_paper_height_mm(layout->height);
  const double origin_y = kRulerStrip_mm + (layout->height - kRulerStrip_mm) / 2;
  Page page(layout->width, layout->height, layout->width / 2, origin_y);
  drawMarkers(page, *layout, out.mat);
  drawStops(page, *layout);
  drawRuler(page, *layout, 6 - origin_y);
  drawAims(page, *layout, 6 - origin_y);
  out.pdf = page.pdf();
  return out;
}

}  // namespace holdshelf
