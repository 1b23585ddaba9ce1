// SPDX-License-Identifier: Apache-2.0
#include "capture/paper_size.h"

#include <tbb/parallel_for.h>

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <optional>
#include <string>

#include "capture/edge_line.h"
#include "capture/sheet_edge.h"

namespace holdshelf {
namespace {

using Eigen::Vector2d;
using Eigen::Vector3d;

constexpr std::array<PaperSize, 8> kPapers = {{{"A5", 148, 210},
                                               {"A4", 210, 297},
                                               {"A3", 297, 420},
                                               {"A2", 420, 594},
                                               {"A1", 594, 841},
                                               {"Letter", 215.9, 279.4},
                                               {"Legal", 215.9, 355.6},
                                               {"Tabloid", 279.4, 431.8}}};

std::string sentence(const PaperCheck& check, const PaperSize& paper) {
  const bool upright =
      (check.width_nominal_mm() < check.height_nominal_mm()) == (paper.width_mm < paper.height_mm);
  char text[400];
  std::snprintf(
      text, sizeof text,
      "The sheet measures %.1f x %.1f mm in the mat's own lengths where %s has %.1f x %.1f "
      "mm, so the printer did not print to scale: pass --mat-scale %.4f, after measuring "
      "the mat's ruler to be sure.",
      check.width_nominal_mm(), check.height_nominal_mm(), check.paper().c_str(),
      upright ? paper.width_mm : paper.height_mm, upright ? paper.height_mm : paper.width_mm,
      check.suggested_mat_scale());
  return text;
}

/// The sheet that the mat claims to be, else the nearest standard one.
std::optional<PaperSize> paperOf(const Mat& mat, double width, double height) {
  if (mat.paper_width_mm() > 0 && mat.paper_height_mm() > 0) {
    const PaperSize* named = nearestPaper(mat.paper_width_mm(), mat.paper_height_mm());
    return PaperSize{named ? named->name : "the mat's sheet", mat.paper_width_mm(),
                     mat.paper_height_mm()};
  }
  const PaperSize* nearest = nearestPaper(width, height);
  return nearest ? std::optional(*nearest) : std::nullopt;
}

/// The four edges of the sheet; nullopt: not all of them are seen.
std::optional<std::array<SheetEdge, 4>> edgesOf(const std::vector<View>& views,
                                                const std::array<SheetSide, 4>& sides) {
  std::array<std::vector<std::optional<SheetEdge>>, 4> edges;
  for (auto& e : edges) e.resize(views.size());
  tbb::parallel_for(size_t{0}, views.size(), [&](size_t v) {
    const cv::Mat linear = linearLight(views[v].bgr);
    for (size_t i = 0; i < 4; ++i) edges[i][v] = edgeInView(linear, views[v].camera, sides[i]);
  });
  std::array<SheetEdge, 4> found;
  for (size_t i = 0; i < 4; ++i) {
    const auto edge = commonEdge(edges[i]);
    if (!edge) return std::nullopt;
    found[i] = *edge;
  }
  return found;
}

}  // namespace

const PaperSize* nearestPaper(double width_mm, double height_mm) {
  const PaperSize* best = nullptr;
  double best_off = std::log(1.06);
  for (const auto& paper : kPapers) {
    const double narrow = std::log(std::min(width_mm, height_mm) / paper.width_mm);
    const double wide = std::log(std::max(width_mm, height_mm) / paper.height_mm);
    const double off = std::abs(narrow + wide) / 2;
    if (std::abs(narrow - wide) < 0.012 && off < best_off) best_off = off, best = &paper;
  }
  return best;
}

PaperCheck checkPaper(const std::vector<View>& views, const Mat& mat,
                      const std::vector<Vector3d>& points_H_mm, double mat_scale) {
  PaperCheck check;
  if (points_H_mm.empty()) return check;
  Eigen::AlignedBox2d box;
  for (const auto& X : points_H_mm) box.extend(Vector2d(X.head<2>()));
  std::array<SheetSide, 4> sides;
  for (int i = 0; i < 4; ++i) sides[static_cast<size_t>(i)] = sideOf(box, i, points_H_mm);
  const auto found = edgesOf(views, sides);
  if (!found) return check;
  // Opposite edges are parallel, and a sheet printed askew is turned, not sheared.
  const auto across = [&](size_t p, size_t q, double between) {
    const double turn = std::atan(((*found)[p].slope - (*found)[q].slope) / 2);
    return (between + (*found)[p].offset + (*found)[q].offset) * std::cos(turn) / mat_scale;
  };
  const double width = across(0, 2, box.sizes().x()), height = across(1, 3, box.sizes().y());
  check.set_found(true);
  check.set_width_nominal_mm(width);
  check.set_height_nominal_mm(height);
  const auto paper = paperOf(mat, width, height);
  if (!paper) return check;
  check.set_paper(paper->name);
  check.set_suggested_mat_scale(std::sqrt(paper->width_mm * paper->height_mm / (width * height)));
  if (std::abs(check.suggested_mat_scale() / mat_scale - 1) > 0.005)
    check.set_message(sentence(check, *paper));
  return check;
}

bool trustsSheetScale(const PaperCheck& check) {
  if (!check.found() || check.message().empty()) return false;
  const PaperSize* paper = nullptr;
  for (const PaperSize& size : kPapers)
    if (check.paper() == size.name) paper = &size;
  if (!paper) return false;
  const double width = check.width_nominal_mm(), height = check.height_nominal_mm();
  const double narrow = std::min(width, height), wide = std::max(width, height);
  const double by_width = paper->width_mm / narrow, by_height = paper->height_mm / wide;
  return std::abs(by_width / by_height - 1) < 0.004 &&
         std::abs(check.suggested_mat_scale() - 1) > 0.01;
}

}  // namespace holdshelf
