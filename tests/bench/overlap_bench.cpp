// SPDX-License-Identifier: Apache-2.0
// overlap_bench DINO_FOLDER MESH.ply REPORT.json [OUT]: how well a mesh rebuilt from the Middlebury
// dinoSparseRing photos fills their silhouettes, seen from the report's cameras.
//
// Silhouettes by the recipe in the set's README: threshold at 0.19 of full brightness, dilate by
// 10, erode by 7, in the photos that its list calls good for that. The recipe leaves them 3 px too
// large on purpose ("conservative"); for an overlap they are eroded by 10 instead. Its largest
// spot is the object. Overlap is intersection over union; `missing` and `extra` are the parts of
// the union that only the photo or only the mesh has. The README warns of dark shadows on the
// object, which are holes of the threshold: `holes aside` leaves enclosed holes undecided.
// OUT: pictures, photo green, mesh red.
#include <google/protobuf/util/json_util.h>

#include <cstdio>
#include <exception>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <set>
#include <stdexcept>
#include <string>

#include "capture/photo_raster.h"
#include "mesh/mesh_io.h"
#include "proto/capture_report.pb.h"

using namespace holdshelf;
namespace fs = std::filesystem;

namespace {

CaptureReport readReport(const fs::path& path) {
  std::ifstream in(path);
  const std::string text((std::istreambuf_iterator<char>(in)), {});
  CaptureReport report;
  google::protobuf::util::JsonParseOptions options;
  options.ignore_unknown_fields = true;
  if (!google::protobuf::util::JsonStringToMessage(text, &report, options).ok())
    throw std::runtime_error(path.string() + " is no report.");
  return report;
}

cv::Mat largestSpot(const cv::Mat& mask) {
  cv::Mat labels, stats, centres;
  const int count = cv::connectedComponentsWithStats(mask, labels, stats, centres);
  int best = 0;
  for (int i = 1; i < count; ++i)
    if (best == 0 || stats.at<int>(i, cv::CC_STAT_AREA) > stats.at<int>(best, cv::CC_STAT_AREA))
      best = i;
  if (best == 0) return cv::Mat::zeros(mask.size(), CV_8UC1);
  return labels == best;
}

/// The set's own recipe, without its margin of 3 px.
cv::Mat silhouette(const cv::Mat& bgr) {
  cv::Mat grey;
  cv::cvtColor(bgr, grey, cv::COLOR_BGR2GRAY);
  const cv::Mat disc = cv::getStructuringElement(cv::MORPH_ELLIPSE, {21, 21});
  cv::Mat mask = grey > 0.19 * 255;
  cv::morphologyEx(mask, mask, cv::MORPH_CLOSE, disc);
  return largestSpot(mask);
}

/// What the silhouette encloses without being part of it.
cv::Mat enclosedHoles(const cv::Mat& mask) {
  std::vector<std::vector<cv::Point>> lines;
  cv::findContours(mask, lines, cv::RETR_EXTERNAL, cv::CHAIN_APPROX_NONE);
  cv::Mat filled = mask.clone();
  cv::drawContours(filled, lines, -1, 255, cv::FILLED);
  return filled & ~mask;
}

struct Shares {
  double overlap = 0, missing = 0, extra = 0;
};

Shares compare(const cv::Mat& photo, const cv::Mat& mesh) {
  const double either = std::max(1, cv::countNonZero(photo | mesh));
  return {cv::countNonZero(photo & mesh) / either, cv::countNonZero(photo & ~mesh) / either,
          cv::countNonZero(mesh & ~photo) / either};
}

void draw(const fs::path& file, cv::Mat bgr, const cv::Mat& photo, const cv::Mat& mesh) {
  std::vector<std::vector<cv::Point>> lines;
  cv::findContours(photo, lines, cv::RETR_LIST, cv::CHAIN_APPROX_NONE);
  cv::drawContours(bgr, lines, -1, {0, 255, 0});
  cv::findContours(mesh, lines, cv::RETR_LIST, cv::CHAIN_APPROX_NONE);
  cv::drawContours(bgr, lines, -1, {0, 0, 255});
  cv::imwrite(file.string(), bgr);
}

std::set<std::string> goodPhotos(const fs::path& folder) {
  std::ifstream in(folder / "dinoSR_good_silhouette_images.txt");
  return {std::istream_iterator<std::string>(in), {}};
}

void run(const fs::path& folder, const fs::path& mesh_path, const fs::path& report_path,
         const fs::path& out) {
  const TriangleMesh mesh = readMesh(mesh_path);
  const CaptureReport report = readReport(report_path);
  const std::set<std::string> good = goodPhotos(folder);
  if (!out.empty()) fs::create_directories(out);
  Shares sum;
  double aside_sum = 0;
  int count = 0;
  for (const PhotoCamera& camera : report.cameras()) {
    const cv::Mat bgr = cv::imread((folder / camera.photo()).string());
    if (bgr.empty()) throw std::runtime_error(camera.photo() + " is not in the folder.");
    const cv::Mat photo = silhouette(bgr);
    const cv::Mat drawn = drawnMask(rasterise(mesh, rasterCamera(fromProto(camera))));
    const Shares s = compare(photo, drawn);
    const bool counts = good.count(camera.photo()) > 0;
    const double aside = compare(photo, drawn & ~enclosedHoles(photo)).overlap;
    std::printf("%s  overlap %.4f  missing %.4f  extra %.4f  holes aside %.4f%s\n",
                camera.photo().c_str(), s.overlap, s.missing, s.extra, aside,
                counts ? "" : "  (not on the set's list)");
    if (!out.empty()) draw(out / camera.photo(), bgr, photo, drawn);
    if (!counts) continue;
    ++count;
    aside_sum += aside;
    sum.overlap += s.overlap, sum.missing += s.missing, sum.extra += s.extra;
  }
  if (count > 0)
    std::printf("mean of %d: overlap %.4f  missing %.4f  extra %.4f  holes aside %.4f\n", count,
                sum.overlap / count, sum.missing / count, sum.extra / count, aside_sum / count);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 4 || argc > 5) {
    std::fprintf(stderr, "usage: overlap_bench DINO_FOLDER MESH.ply REPORT.json [OUT]\n");
    return 2;
  }
  try {
    run(argv[1], argv[2], argv[3], argc > 4 ? argv[4] : "");
  } catch (const std::exception& e) {
    std::fprintf(stderr, "overlap_bench: %s\n", e.what());
    return 1;
  }
}
