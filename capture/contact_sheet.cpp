// SPDX-License-Identifier: Apache-2.0
#include "capture/contact_sheet.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <utility>

#include "capture/photo_tile.h"
#include "capture/sheet_page.h"
#include "mesh/orientation.h"
#include "mesh/shade.h"

namespace holdshelf {

using namespace sheet;

namespace {

const cv::Scalar kGuess(40, 120, 235);

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
  f.push_back({"volume", number(signedVolume_mm3(mesh) / 1000, 1) + " cm3"});
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
    for (const std::string& line : wrapped(sentence, 0.43, size.width - 24, 3)) {
      if (y > size.height - 6) return panel;
      write(panel, line, {12, y}, 0.43, kRefused);
      y += 18;
    }
  return panel;
}

/// The hold from four sides.
std::vector<cv::Mat> sideViews(const TriangleMesh& mesh, cv::Size side, const ShadeOptions& shade) {
  const char* names[] = {"from below (-y)", "from the right (+x)", "from above (+y)",
                         "from the left (-x)"};
  std::vector<cv::Mat> sides;
  for (const RasterImage& image :
       renderTurntableViews(mesh, 4, 20, side.width, side.height, shade)) {
    sides.push_back(toCv(image));
    write(sides.back(), names[sides.size() - 1], {12, 22}, 0.5, kFaint);
  }
  return sides;
}

/// Every photo: those used, then those refused.
std::vector<cv::Mat> photoTiles(const TriangleMesh& mesh, const std::vector<View>& views,
                                const CaptureReport& report,
                                const std::vector<std::filesystem::path>& files, cv::Size tile) {
  std::vector<cv::Mat> tiles;
  for (const View& view : views) {
    const auto it = std::find_if(report.photos().begin(), report.photos().end(),
                                 [&](const auto& p) { return p.photo() == view.photo; });
    tiles.push_back(photoTile(mesh, view, it != report.photos().end() ? &*it : nullptr, tile));
  }
  for (const PhotoReport& photo : report.photos())
    if (photo.verdict() != PhotoReport::USED) tiles.push_back(refusedTile(photo, files, tile));
  return tiles;
}

}  // namespace

std::vector<std::uint8_t> contactSheetPng(const TriangleMesh& mesh, const std::vector<View>& views,
                                          const CaptureReport& report,
                                          const ContactSheetOptions& options) {
  const int width = options.columns * (options.tile_px + SheetPage::kGap_px) + SheetPage::kGap_px;
  SheetPage sheet(width);
  sheet.heading(options.title, 1.1,
                "Holdshelf " + report.program_version() +
                    "   A scan sees shape, not strength: check for cracks by hand and eye.");

  ShadeOptions shade;
  shade.background = {250, 252, 252};
  const cv::Size side((width - 5 * SheetPage::kGap_px) / 4,
                      (width - 5 * SheetPage::kGap_px) * 3 / 16);
  sheet.row(sideViews(mesh, side, shade));

  ShadeOptions plain = shade;
  plain.vertex_colours = false;
  std::vector<cv::Mat> second = {topView(mesh, side, shade, "face on (+y up)"),
                                 topView(mesh, side, plain, "face on, shape only")};
  if (!mesh.guesswork.empty()) second.push_back(guessworkView(mesh, side));
  second.push_back(figuresPanel(mesh, report, side));
  sheet.row(second);

  sheet.heading("Photos", 0.7, "pink line: outline of the rebuilt shape");
  const cv::Size tile(options.tile_px, options.tile_px * 3 / 4);
  const std::vector<cv::Mat> tiles = photoTiles(mesh, views, report, options.photo_files, tile);
  for (std::size_t i = 0; i < tiles.size(); i += std::size_t(options.columns))
    sheet.row({tiles.begin() + long(i),
               tiles.begin() + long(std::min(tiles.size(), i + std::size_t(options.columns)))});
  return sheet.png();
}

}  // namespace holdshelf
