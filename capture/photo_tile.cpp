// SPDX-License-Identifier: Apache-2.0
#include "capture/photo_tile.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <string>

#include "capture/photo.h"
#include "capture/photo_raster.h"
#include "capture/sheet_page.h"
#include "mesh/bad_input.h"

namespace holdshelf {

using namespace sheet;

namespace {

const cv::Scalar kOutline(200, 30, 255);

/// The part of a photo round the hold, of the tile's shape.
cv::Rect2d partRound(const TriangleMesh& mesh, const View& view, cv::Size tile) {
  double x0 = 1e9, y0 = 1e9, x1 = -1e9, y1 = -1e9;
  for (std::size_t i = 0; i < mesh.vertices_mm.size(); i += 5)
    if (const auto p = view.camera.project(mesh.vertices_mm[i])) {
      x0 = std::min(x0, p->x());
      x1 = std::max(x1, p->x());
      y0 = std::min(y0, p->y());
      y1 = std::max(y1, p->y());
    }
  if (x0 > x1) return {0, 0, double(view.bgr.cols), double(view.bgr.rows)};
  const double aspect = double(tile.width) / tile.height;
  double w = 1.35 * std::max(x1 - x0, (y1 - y0) * aspect);
  w = std::min({w, double(view.bgr.cols), view.bgr.rows * aspect});
  const double h = w / aspect;
  return {std::clamp((x0 + x1 - w) / 2, 0.0, view.bgr.cols - w),
          std::clamp((y0 + y1 - h) / 2, 0.0, view.bgr.rows - h), w, h};
}

/// A refused photo as far as it can be read: it is as much from outside as all others.
cv::Mat refusedPicture(const std::filesystem::path& file) {
  try {
    return readPhoto(file).bgr;
  } catch (const BadInput&) {
    return {};
  }
}

void caption(cv::Mat& tile, const std::string& text, const cv::Scalar& band) {
  cv::Mat strip = tile(cv::Rect(0, tile.rows - 22, tile.cols, 22));
  strip = 0.35 * strip + 0.65 * cv::Mat(strip.size(), strip.type(), band);
  write(tile, text, {8, tile.rows - 7}, 0.45, {255, 255, 255});
}

}  // namespace

cv::Mat photoTile(const TriangleMesh& mesh, const View& view, const PhotoReport* report,
                  cv::Size size) {
  const cv::Rect2d part = partRound(mesh, view, size);
  const cv::Rect whole(cv::Point(part.x, part.y), cv::Size(part.width, part.height));
  const double scale = double(size.width) / whole.width;
  cv::Mat tile;
  cv::resize(view.bgr(whole & cv::Rect({0, 0}, view.bgr.size())), tile, size, 0, 0,
             scale < 1 ? cv::INTER_AREA : cv::INTER_CUBIC);
  // The outline is traced at four times the tile's resolution, so that it runs smoothly.
  constexpr int kFine = 4;
  const cv::Mat mask = drawnMask(
      rasterise(mesh, rasterCamera(view.camera, cv::Rect2d(whole), scale * kFine, size * kFine)));
  std::vector<std::vector<cv::Point>> lines;
  cv::findContours(mask, lines, cv::RETR_LIST, cv::CHAIN_APPROX_NONE);
  lines.erase(
      std::remove_if(lines.begin(), lines.end(), [](const auto& l) { return l.size() < 40; }),
      lines.end());
  // The last argument counts fractional bits: the points are in quarters of a pixel.
  for (const auto& line : lines)
    cv::polylines(tile, std::vector<std::vector<cv::Point>>{line}, true, kOutline, 1, cv::LINE_AA,
                  2);
  std::string text = view.photo;
  if (report && report->elevation_deg() != 0)
    text += "   " + number(report->elevation_deg(), 0) + " deg up";
  caption(tile, text, {40, 34, 30});
  return tile;
}

cv::Mat refusedTile(const PhotoReport& report, const std::vector<std::filesystem::path>& files,
                    cv::Size size) {
  cv::Mat tile(size, CV_8UC3, cv::Scalar(214, 212, 210));
  for (const auto& file : files) {
    if (file.filename().string() != report.photo()) continue;
    const cv::Mat picture = refusedPicture(file);
    if (picture.empty()) break;
    cv::Mat small;
    cv::resize(picture, small, size, 0, 0, cv::INTER_AREA);
    cv::Mat grey;
    cv::cvtColor(small, grey, cv::COLOR_BGR2GRAY);
    cv::cvtColor(grey, small, cv::COLOR_GRAY2BGR);
    tile = 0.45 * small + cv::Scalar::all(140);
    break;
  }
  const int s = 14;
  const cv::Point corner(size.width - s - 10, 10 + s);
  cv::line(tile, corner - cv::Point(s, s) / 2, corner + cv::Point(s, s) / 2, kRefused, 3,
           cv::LINE_AA);
  cv::line(tile, corner + cv::Point(-s, s) / 2, corner + cv::Point(s, -s) / 2, kRefused, 3,
           cv::LINE_AA);
  write(tile, "not used", {12, 30}, 0.55, kRefused, 2);
  int y = 56;
  for (const std::string& line : wrapped(report.reason(), 0.45, size.width - 24, 7)) {
    write(tile, line, {12, y}, 0.45);
    y += 19;
  }
  caption(tile, report.photo(), kRefused);
  cv::rectangle(tile, {{0, 0}, size}, kRefused, 2);
  return tile;
}

}  // namespace holdshelf
