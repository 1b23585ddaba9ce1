// SPDX-License-Identifier: Apache-2.0
#include "capture/contact_sheet.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "capture/photo_raster.h"

namespace holdshelf {
namespace {

constexpr int kGap = 16;
const cv::Scalar kPaper(252, 252, 250), kInk(48, 42, 38), kFaint(150, 144, 140);
const cv::Scalar kOutline(200, 30, 255), kRefused(40, 40, 200), kGuess(40, 120, 235);

cv::Mat toCv(const RasterImage& image) {
  cv::Mat rgb(image.height_px, image.width_px, CV_8UC3,
              const_cast<std::uint8_t*>(image.rgb.data()));
  cv::Mat bgr;
  cv::cvtColor(rgb, bgr, cv::COLOR_RGB2BGR);
  return bgr;
}

/// OpenCV's stroke font knows ASCII only.
void write(cv::Mat& sheet, const std::string& text, cv::Point at, double size,
           const cv::Scalar& colour = kInk, int weight = 1) {
  cv::putText(sheet, text, at, cv::FONT_HERSHEY_SIMPLEX, size, colour, weight, cv::LINE_AA);
}

int widthOf(const std::string& text, double size) {
  int base = 0;
  return cv::getTextSize(text, cv::FONT_HERSHEY_SIMPLEX, size, 1, &base).width;
}

/// Breaks a sentence into lines no wider than `width`, at most `most` of them.
std::vector<std::string> wrap(const std::string& text, double size, int width, std::size_t most) {
  std::vector<std::string> lines(1);
  std::size_t from = 0;
  while (from < text.size()) {
    std::size_t to = text.find(' ', from);
    if (to == std::string::npos) to = text.size();
    const std::string word = text.substr(from, to - from);
    const std::string longer = lines.back().empty() ? word : lines.back() + " " + word;
    if (widthOf(longer, size) <= width || lines.back().empty()) {
      lines.back() = longer;
    } else if (lines.size() == most) {
      lines.back() += " ...";
      return lines;
    } else {
      lines.push_back(word);
    }
    from = to + 1;
  }
  return lines;
}

std::string number(double value, int decimals) {
  char text[64];
  std::snprintf(text, sizeof text, "%.*f", decimals, value);
  return text;
}

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

void caption(cv::Mat& tile, const std::string& text, const cv::Scalar& band) {
  cv::Mat strip = tile(cv::Rect(0, tile.rows - 22, tile.cols, 22));
  strip = 0.35 * strip + 0.65 * cv::Mat(strip.size(), strip.type(), band);
  write(tile, text, {8, tile.rows - 7}, 0.45, {255, 255, 255});
}

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

cv::Mat refusedTile(const PhotoReport& report, const ContactSheetOptions& options, cv::Size size) {
  cv::Mat tile(size, CV_8UC3, cv::Scalar(214, 212, 210));
  for (const auto& file : options.photo_files) {
    if (file.filename().string() != report.photo()) continue;
    const cv::Mat picture = cv::imread(file.string(), cv::IMREAD_REDUCED_COLOR_4);
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
  for (const std::string& line : wrap(report.reason(), 0.45, size.width - 24, 7)) {
    write(tile, line, {12, y}, 0.45);
    y += 19;
  }
  caption(tile, report.photo(), kRefused);
  cv::rectangle(tile, {{0, 0}, size}, kRefused, 2);
  return tile;
}

/// A bar of a round length near a fifth of the picture's width.
void scaleBar(cv::Mat& picture, double px_per_mm) {
  const double most_mm = 0.28 * picture.cols / px_per_mm;
  const double power = std::pow(10, std::floor(std::log10(most_mm)));
  const double length = most_mm >= 5 * power ? 5 * power : most_mm >= 2 * power ? 2 * power : power;
  const int px = int(std::lround(length * px_per_mm)), y = picture.rows - 16, x = 16;
  cv::rectangle(picture, {x, y - 5, px, 5}, kInk, cv::FILLED);
  for (int k = 0; k < 5; k += 2)  // White fifths, as on a map.
    if (k + 1 < 5)
      cv::rectangle(picture, cv::Rect(x + px * (k + 1) / 5, y - 4, px / 5, 3), {255, 255, 255},
                    cv::FILLED);
  write(picture, number(length, length < 1 ? 1 : 0) + " mm", {x + px + 8, y + 1}, 0.5);
}

cv::Mat topView(const TriangleMesh& mesh, cv::Size size, const ShadeOptions& options,
                const std::string& name) {
  const RasterCamera camera =
      fitOrthographic(mesh, {0, 0, 1}, {0, 1, 0}, size.width, size.height, 0.09);
  cv::Mat picture = toCv(renderMesh(mesh, camera, {0, 1, 0}, options));
  scaleBar(picture, camera.fx);
  write(picture, name, {12, 22}, 0.5, kFaint);
  return picture;
}

/// Where the surface is guesswork (orange) and where two good photos saw it (grey), with a legend.
cv::Mat guessworkView(const TriangleMesh& mesh, cv::Size size) {
  TriangleMesh painted = mesh;
  painted.colours.assign(mesh.vertices_mm.size(), {176, 182, 188});
  for (std::size_t i = 0; i < mesh.guesswork.size(); ++i)
    if (mesh.guesswork[i]) painted.colours[i] = {235, 120, 40};
  ShadeOptions options;
  options.background = {250, 252, 252};
  const RasterCamera camera =
      fitOrthographic(mesh, Eigen::Vector3d(0, -0.7, 0.7), {0, 0, 1}, size.width, size.height, 0.1);
  cv::Mat picture = toCv(renderMesh(painted, camera, {0, 0, 1}, options));
  write(picture, "where it is guesswork", {12, 22}, 0.5, kFaint);
  cv::rectangle(picture, cv::Rect(14, size.height - 46, 14, 14), {188, 182, 176}, cv::FILLED);
  write(picture, "seen by two good photos or more", {36, size.height - 34}, 0.45);
  cv::rectangle(picture, cv::Rect(14, size.height - 24, 14, 14), kGuess, cv::FILLED);
  write(picture, "guesswork: fewer", {36, size.height - 12}, 0.45);
  return picture;
}

double volume_mm3(const TriangleMesh& mesh) {
  double v = 0;
  for (const auto& t : mesh.triangles)
    v += mesh.vertices_mm[t[0]].dot(mesh.vertices_mm[t[1]].cross(mesh.vertices_mm[t[2]])) / 6;
  return v;
}

using Figures = std::vector<std::pair<std::string, std::string>>;

Figures keyFigures(const TriangleMesh& mesh, const CaptureReport& report) {
  Eigen::AlignedBox3d box;
  for (const auto& v : mesh.vertices_mm) box.extend(v);
  Eigen::Vector3d size = Eigen::Vector3d::Zero();
  if (!box.isEmpty()) size = box.sizes();
  const long used = std::count_if(report.photos().begin(), report.photos().end(),
                                  [](const auto& p) { return p.verdict() == PhotoReport::USED; });
  Figures f;
  f.push_back({"size x, y, z", number(size.x(), 1) + " x " + number(size.y(), 1) + " x " +
                                   number(size.z(), 1) + " mm"});
  f.push_back({"volume", number(volume_mm3(mesh) / 1000, 1) + " cm3"});
  f.push_back({"precision", report.precision_mm() > 0
                                ? number(report.precision_mm(), 2) + " mm (median)"
                                : "not estimated"});
  f.push_back({"guesswork", number(100 * report.guesswork_share(), 1) + " % of the surface"});
  f.push_back(
      {"photos used", std::to_string(used) + " of " + std::to_string(report.photos_size())});
  f.push_back({"camera heights", number(report.lowest_elevation_deg(), 0) + " to " +
                                     number(report.highest_elevation_deg(), 0) + " deg"});
  f.push_back({"widest gap", number(report.largest_azimuth_gap_deg(), 0) + " deg"});
  if (report.reprojection_rms_px() > 0)
    f.push_back({"reprojection", number(report.reprojection_rms_px(), 2) + " px rms"});
  if (report.mat_scale() > 0) f.push_back({"mat scale", number(report.mat_scale(), 4)});
  f.push_back({"triangles", std::to_string(mesh.triangles.size()) +
                                (report.watertight() ? ", watertight" : ", NOT watertight")});
  return f;
}

cv::Mat figuresPanel(const TriangleMesh& mesh, const CaptureReport& report, cv::Size size) {
  cv::Mat panel(size, CV_8UC3, kPaper);
  int y = 30;
  for (const auto& [name, value] : keyFigures(mesh, report)) {
    write(panel, name, {12, y}, 0.5, kFaint);
    write(panel, value, {160, y}, 0.55);
    y += 26;
  }
  y += 6;
  std::vector<std::string> words(report.advice().begin(), report.advice().end());
  words.insert(words.end(), report.warnings().begin(), report.warnings().end());
  for (const std::string& sentence : words)
    for (const std::string& line : wrap(sentence, 0.43, size.width - 24, 3)) {
      if (y > size.height - 6) return panel;
      write(panel, line, {12, y}, 0.43, kRefused);
      y += 18;
    }
  return panel;
}

/// Puts pictures of one size side by side, row after row.
class Sheet {
 public:
  explicit Sheet(int width) : width_(width) {}

  void row(const std::vector<cv::Mat>& pictures) {
    int height = 0;
    for (const auto& p : pictures) height = std::max(height, p.rows);
    cv::Mat strip(height + kGap, width_, CV_8UC3, kPaper);
    int x = kGap;
    for (const auto& p : pictures) {
      p.copyTo(strip(cv::Rect(x, 0, p.cols, p.rows)));
      x += p.cols + kGap;
    }
    strips_.push_back(strip);
  }

  void heading(const std::string& text, double size, const std::string& aside = {}) {
    const int height = int(44 * size) + 16;
    cv::Mat strip(height, width_, CV_8UC3, kPaper);
    write(strip, text, {kGap, height - 14}, size, kInk, size > 0.9 ? 2 : 1);
    if (!aside.empty()) {
      const int w = widthOf(aside, 0.5);
      write(strip, aside, {width_ - kGap - w, height - 14}, 0.5, kFaint);
    }
    strips_.push_back(strip);
  }

  std::vector<std::uint8_t> png() const {
    cv::Mat all;
    cv::vconcat(strips_, all);
    std::vector<std::uint8_t> bytes;
    cv::imencode(".png", all, bytes, {cv::IMWRITE_PNG_COMPRESSION, 6});
    return bytes;
  }

 private:
  int width_;
  std::vector<cv::Mat> strips_;
};

}  // namespace

std::vector<std::uint8_t> contactSheetPng(const TriangleMesh& mesh, const std::vector<View>& views,
                                          const CaptureReport& report,
                                          const ContactSheetOptions& options) {
  const int width = options.columns * (options.tile_px + kGap) + kGap;
  Sheet sheet(width);
  sheet.heading(options.title, 1.1,
                "Holdshelf " + report.program_version() +
                    "   A scan sees shape, not strength: check for cracks by hand and eye.");

  ShadeOptions shade;
  shade.background = {250, 252, 252};
  const cv::Size side((width - 5 * kGap) / 4, (width - 5 * kGap) * 3 / 16);
  const char* names[] = {"from below (-y)", "from the right (+x)", "from above (+y)",
                         "from the left (-x)"};
  std::vector<cv::Mat> sides;
  for (const RasterImage& image :
       renderTurntableViews(mesh, 4, 20, side.width, side.height, shade)) {
    sides.push_back(toCv(image));
    write(sides.back(), names[sides.size() - 1], {12, 22}, 0.5, kFaint);
  }
  sheet.row(sides);

  ShadeOptions plain = shade;
  plain.vertex_colours = false;
  std::vector<cv::Mat> second = {topView(mesh, side, shade, "face on (+y up)"),
                                 topView(mesh, side, plain, "face on, shape only")};
  if (!mesh.guesswork.empty()) second.push_back(guessworkView(mesh, side));
  second.push_back(figuresPanel(mesh, report, side));
  sheet.row(second);

  sheet.heading("Photos", 0.7, "pink line: outline of the rebuilt shape");
  const cv::Size tile(options.tile_px, options.tile_px * 3 / 4);
  std::vector<cv::Mat> tiles;
  for (const View& view : views) {
    const auto it = std::find_if(report.photos().begin(), report.photos().end(),
                                 [&](const auto& p) { return p.photo() == view.photo; });
    tiles.push_back(photoTile(mesh, view, it != report.photos().end() ? &*it : nullptr, tile));
  }
  for (const PhotoReport& photo : report.photos())
    if (photo.verdict() != PhotoReport::USED) tiles.push_back(refusedTile(photo, options, tile));
  for (std::size_t i = 0; i < tiles.size(); i += std::size_t(options.columns))
    sheet.row({tiles.begin() + long(i),
               tiles.begin() + long(std::min(tiles.size(), i + std::size_t(options.columns)))});
  return sheet.png();
}

}  // namespace holdshelf
