// SPDX-License-Identifier: Apache-2.0
#include "capture/paper_size.h"

#include <tbb/parallel_for.h>

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <optional>

#include "capture/edge_line.h"
#include "capture/median.h"

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

/// One side of the layout's bounding rectangle, with the height of the paper along it.
/// A point `out` beyond the side, `along` from the side's middle, is
/// origin + along * direction + out * outward, at z = height + tilt * along.
struct SheetSide {
  Vector2d origin, direction, outward;
  double length = 0, height = 0, tilt = 0;

  Vector3d point(double along, double out) const {
    const Vector2d p = origin + along * direction + out * outward;
    return {p.x(), p.y(), height + tilt * along};
  }
};

/// An edge of the sheet in one view: out = offset + slope * along, mm.
struct SheetEdge {
  double offset = 0, slope = 0;
};

SheetSide sideOf(const Eigen::AlignedBox2d& box, int which, const std::vector<Vector3d>& points) {
  static const std::array<Vector2d, 4> normals = {Vector2d(1, 0), Vector2d(0, 1), Vector2d(-1, 0),
                                                  Vector2d(0, -1)};
  SheetSide side;
  side.outward = normals[static_cast<size_t>(which)];
  side.direction = {-side.outward.y(), side.outward.x()};
  side.origin = box.center() + 0.5 * box.sizes().cwiseProduct(side.outward);
  side.length = std::abs(box.sizes().dot(side.direction));
  // Height by least squares over the corners in the outer tenth of the layout.
  const double band = 0.1 * std::abs(box.sizes().dot(side.outward));
  Eigen::Matrix2d A = Eigen::Matrix2d::Zero();
  Vector2d b = Vector2d::Zero();
  for (const auto& X : points) {
    const Vector2d d = X.head<2>() - side.origin;
    if (d.dot(side.outward) < -band) continue;
    const Vector2d row(1, d.dot(side.direction));
    A += row * row.transpose();
    b += row * X.z();
  }
  if (A.determinant() > 1e-6) {
    const Vector2d fit = A.inverse() * b;
    side.height = fit.x(), side.tilt = fit.y();
  }
  return side;
}

double lightAt(const cv::Mat& linear, const std::optional<Vector2d>& px) {
  if (!px) return -1;
  const int x = static_cast<int>(std::lround(px->x())), y = static_cast<int>(std::lround(px->y()));
  if (x < 0 || y < 0 || x >= linear.cols || y >= linear.rows) return -1;
  return linear.at<float>(y, x);
}

/// Logarithm of the light on a grid beyond a side: rows along it, columns outwards. NaN: not in
/// view.
struct Profile {
  static constexpr int kRows = 48;
  static constexpr double kStep_mm = 0.25, kFirst_mm = 0.5;
  int columns = 0;
  std::vector<float> values;

  float at(int row, int column) const {
    return values[static_cast<size_t>(row) * static_cast<size_t>(columns) +
                  static_cast<size_t>(column)];
  }
};

double alongOf(const SheetSide& side, int row) {
  return side.length * ((row + 0.5) / Profile::kRows - 0.5);
}

Profile profileOf(const cv::Mat& linear, const PosedCamera& camera, const SheetSide& side) {
  Profile profile;
  const double reach_mm = std::clamp(0.5 * side.length, 30.0, 120.0);
  profile.columns = static_cast<int>(reach_mm / Profile::kStep_mm);
  for (int row = 0; row < Profile::kRows; ++row)
    for (int column = 0; column < profile.columns; ++column) {
      const double out = Profile::kFirst_mm + Profile::kStep_mm * column;
      const double light = lightAt(linear, camera.project(side.point(alongOf(side, row), out)));
      profile.values.push_back(light < 0 ? NAN
                                         : static_cast<float>(std::log(std::max(light, 0.003))));
    }
  return profile;
}

/// Mean drop of log light across the line, and whether enough of it drops.
std::optional<double> dropAcross(const SheetSide& side, const Profile& profile,
                                 const SheetEdge& line) {
  constexpr int kGap = 5;  // Columns either way: 1.25 mm, past the edge's blur.
  double sum = 0;
  int seen = 0, falling = 0;
  for (int row = 0; row < Profile::kRows; ++row) {
    const double out = line.offset + line.slope * alongOf(side, row);
    const int column =
        static_cast<int>(std::lround((out - Profile::kFirst_mm) / Profile::kStep_mm));
    if (column < kGap || column + kGap >= profile.columns) continue;
    const float drop = profile.at(row, column - kGap) - profile.at(row, column + kGap);
    if (std::isnan(drop)) continue;
    ++seen;
    falling += drop > 0.12F;
    sum += std::clamp(drop, -0.5F, 0.5F);
  }
  if (seen < 0.6 * Profile::kRows || falling < 0.8 * seen) return std::nullopt;
  return sum / seen;
}

/// The first line outwards at which the light drops, to about a quarter millimetre.
std::optional<SheetEdge> firstDrop(const SheetSide& side, const Profile& profile) {
  std::optional<SheetEdge> best;
  double best_drop = 0;
  const double reach = Profile::kFirst_mm + Profile::kStep_mm * profile.columns;
  for (double offset = 1; offset < reach; offset += Profile::kStep_mm) {
    // Once a drop has been found only the next millimetre may still improve it.
    if (best && offset > best->offset + 1) break;
    for (double slope = -0.03; slope <= 0.0301; slope += 0.0015) {
      const SheetEdge line{offset, slope};
      const auto drop = dropAcross(side, profile, line);
      if (drop && *drop > best_drop + 1e-9) best_drop = *drop, best = line;
    }
  }
  return best;
}

/// Where a pixel's ray meets the side's strip of paper, as (along, out).
Vector2d onSide(const SheetSide& side, const PosedCamera& camera, const Vector2d& px) {
  const Eigen::Isometry3d T_hold_camera = camera.T_camera_hold.inverse();
  const Vector3d eye = T_hold_camera.translation();
  const Vector3d ray = T_hold_camera.linear() * camera.model.ray(px);
  // z = height + tilt * direction . (x - origin)
  const Vector3d normal(-side.tilt * side.direction.x(), -side.tilt * side.direction.y(), 1);
  const double level = side.height - side.tilt * side.direction.dot(side.origin);
  const Vector3d p = eye + (level - normal.dot(eye)) / normal.dot(ray) * ray;
  const Vector2d d = p.head<2>() - side.origin;
  return {d.dot(side.direction), d.dot(side.outward)};
}

std::optional<SheetEdge> edgeInView(const cv::Mat& linear, const PosedCamera& camera,
                                    const SheetSide& side) {
  const auto coarse = firstDrop(side, profileOf(linear, camera, side));
  if (!coarse) return std::nullopt;
  const auto at = [&](double along, double more) {
    return camera.project(side.point(along, coarse->offset + coarse->slope * along + more));
  };
  const double half = 0.46 * side.length;
  const auto a = at(-half, 0), b = at(half, 0), paper = at(0, -4), table = at(0, 4);
  if (!a || !b || !paper || !table) return std::nullopt;
  const double reach = std::clamp(0.5 * (*paper - *table).norm(), 2.0, 5.0);
  const EdgeLine line = fitEdge(linear, *a, *b, *paper, reach, nullptr);
  if (!line.valid) return std::nullopt;
  const double length = (*b - *a).norm();
  const Vector2d p = onSide(side, camera, line.point(-0.4 * length));
  const Vector2d q = onSide(side, camera, line.point(0.4 * length));
  SheetEdge edge;
  edge.slope = (q.y() - p.y()) / (q.x() - p.x());
  edge.offset = p.y() - edge.slope * p.x();
  if (!std::isfinite(edge.offset) || std::abs(edge.offset - coarse->offset) > 2)
    return std::nullopt;
  return edge;
}

/// Median edge over the views; nullopt below three.
std::optional<SheetEdge> combine(const std::vector<std::optional<SheetEdge>>& seen) {
  std::vector<double> offsets, slopes;
  for (const auto& edge : seen)
    if (edge) offsets.push_back(edge->offset), slopes.push_back(edge->slope);
  if (offsets.size() < 3) return std::nullopt;
  const SheetEdge middle{medianOf(offsets), medianOf(slopes)};
  // A seam of the table or a shadow is another line in every view.
  size_t agreeing = 0;
  for (double offset : offsets) agreeing += std::abs(offset - middle.offset) < 1.5;
  if (agreeing < 3 || 2 * agreeing < offsets.size()) return std::nullopt;
  return middle;
}

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
  std::array<std::vector<std::optional<SheetEdge>>, 4> edges;
  for (auto& e : edges) e.resize(views.size());
  tbb::parallel_for(size_t{0}, views.size(), [&](size_t v) {
    const cv::Mat linear = linearLight(views[v].bgr);
    for (size_t i = 0; i < 4; ++i) edges[i][v] = edgeInView(linear, views[v].camera, sides[i]);
  });
  std::array<SheetEdge, 4> found;
  for (size_t i = 0; i < 4; ++i) {
    const auto edge = combine(edges[i]);
    if (!edge) return check;
    found[i] = *edge;
  }
  // Opposite edges are parallel, and a sheet printed askew is turned, not sheared.
  const auto across = [&](size_t p, size_t q, double between) {
    const double turn = std::atan((found[p].slope - found[q].slope) / 2);
    return (between + found[p].offset + found[q].offset) * std::cos(turn) / mat_scale;
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
