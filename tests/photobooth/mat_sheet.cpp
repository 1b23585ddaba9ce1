// SPDX-License-Identifier: Apache-2.0
#include "tests/photobooth/mat_sheet.h"

#include <algorithm>
#include <cmath>
#include <opencv2/aruco.hpp>
#include <stdexcept>

#include "tests/photobooth/noise.h"

namespace holdshelf {
namespace {

constexpr float kPaper = 0.82f, kInk = 0.045f;

Eigen::Vector2d paperSize(const std::string& paper) {  // ISO 216, long side first.
  static const std::map<std::string, Eigen::Vector2d> sizes = {
      {"A4", {297, 210}}, {"A3", {420, 297}}, {"A2", {594, 420}}};
  const auto at = sizes.find(paper);
  if (at == sizes.end()) throw std::invalid_argument("MatSheet: unknown paper " + paper);
  return at->second;
}

int dictionaryNumber(const std::string& name) {
  static const std::map<std::string, int> numbers = {{"DICT_4X4_50", cv::aruco::DICT_4X4_50},
                                                     {"DICT_4X4_100", cv::aruco::DICT_4X4_100},
                                                     {"DICT_4X4_250", cv::aruco::DICT_4X4_250},
                                                     {"DICT_5X5_250", cv::aruco::DICT_5X5_250},
                                                     {"DICT_6X6_250", cv::aruco::DICT_6X6_250}};
  const auto at = numbers.find(name);
  if (at == numbers.end()) throw std::invalid_argument("MatSheet: unknown dictionary " + name);
  return at->second;
}

void addCorner(Marker& marker, double x, double y) {
  MatPoint& p = *marker.add_corners();
  p.set_x(x);
  p.set_y(y);
}

}  // namespace

MatSheet::MatSheet(const Options& options) : options_(options) {
  half_ = paperSize(options.paper) / 2;
  const double side = options.marker_mm, pitch = side + options.gap_mm, margin = 7;
  columns_ = static_cast<int>((2 * (half_.x() - margin) + options.gap_mm) / pitch);
  rows_ = static_cast<int>((2 * (half_.y() - margin) + options.gap_mm) / pitch);
  if (columns_ < 2 || rows_ < 2) throw std::invalid_argument("MatSheet: the markers do not fit");
  const Eigen::Vector2d start =
      -0.5 * Eigen::Vector2d(columns_ * pitch - options.gap_mm, rows_ * pitch - options.gap_mm);
  grid_start_ = start * options.print_scale;

  const auto dictionary = cv::aruco::getPredefinedDictionary(dictionaryNumber(options.dictionary));
  if (options.first_id + columns_ * rows_ > dictionary->bytesList.rows)
    throw std::invalid_argument("MatSheet: more markers than the dictionary has");
  cells_ = dictionary->markerSize + 2;
  mat_.set_name(options.paper + " test mat");
  mat_.set_dictionary(options.dictionary);
  mat_.set_paper_width_mm(2 * half_.x());
  mat_.set_paper_height_mm(2 * half_.y());
  for (int i = 0; i < columns_ * rows_; ++i) {
    cv::Mat image;
    cv::aruco::drawMarker(dictionary, options.first_id + i, cells_, image, 1);
    bits_.emplace_back(image.begin<std::uint8_t>(), image.end<std::uint8_t>());
    const Eigen::Vector2d low = start + pitch * Eigen::Vector2d(i % columns_, i / columns_);
    Marker& marker = *mat_.add_markers();
    marker.set_id(options.first_id + i);
    addCorner(marker, low.x(), low.y() + side);
    addCorner(marker, low.x() + side, low.y() + side);
    addCorner(marker, low.x() + side, low.y());
    addCorner(marker, low.x(), low.y());
  }
}

bool MatSheet::covers(double x_mm, double y_mm) const {
  return std::abs(x_mm) <= half_.x() && std::abs(y_mm) <= half_.y();
}

float MatSheet::reflectance(double x_mm, double y_mm) const {
  const double scale = options_.print_scale, side = options_.marker_mm * scale;
  const double pitch = (options_.marker_mm + options_.gap_mm) * scale;
  const double gx = x_mm - grid_start_.x(), gy = y_mm - grid_start_.y();
  const int column = static_cast<int>(std::floor(gx / pitch));
  const int row = static_cast<int>(std::floor(gy / pitch));
  if (column < 0 || column >= columns_ || row < 0 || row >= rows_) return kPaper;
  const double u = (gx - column * pitch) / side, v = (gy - row * pitch) / side;
  if (u >= 1 || v >= 1) return kPaper;
  const int cell_x = static_cast<int>(u * cells_), cell_y = static_cast<int>((1 - v) * cells_);
  const auto& bits = bits_[static_cast<std::size_t>(row * columns_ + column)];
  return bits[static_cast<std::size_t>(std::min(cell_y, cells_ - 1) * cells_ + cell_x)] ? kPaper
                                                                                        : kInk;
}

double MatSheet::height_mm(double x_mm, double y_mm) const {
  if (options_.bend_mm == 0) return 0;
  const double r = std::hypot(x_mm, y_mm) / options_.flat_radius_mm;
  const double t = std::clamp(r - 1, 0.0, 1.0), fade = t * t * (3 - 2 * t);
  if (fade == 0) return 0;
  const Eigen::Vector3f p(static_cast<float>(x_mm / 90), static_cast<float>(y_mm / 90), 0.5f);
  return options_.bend_mm * fade * 0.5 *
         (1 + std::clamp<double>(noise(p, options_.seed).value, -1, 1));
}

Eigen::Vector3d MatSheet::cornerOnPaper_mm(int marker, int corner) const {
  const MatPoint& p = mat_.markers(marker).corners(corner);
  const double x = p.x() * options_.print_scale, y = p.y() * options_.print_scale;
  return {x, y, height_mm(x, y)};
}

}  // namespace holdshelf
