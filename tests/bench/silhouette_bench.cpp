// SPDX-License-Identifier: Apache-2.0
// Finds the hold in a capture's photos, carves its hull and says how well, photo by photo.
//   silhouette_bench OUT --booth FOLDER      a capture made by the photobooth, against its truth
//   silhouette_bench OUT MAT.json PHOTO...   photos with a mat
//   silhouette_bench OUT --dino FOLDER       the Middlebury dinoSparseRing set, against the
//                                            brightness threshold its makers used (0.19)
// Writes OUT/NN.png, each photo with its outline (pink) and the truth (green), and OUT/sheet.png.
#include <google/protobuf/util/json_util.h>

#include <Eigen/Geometry>
#include <chrono>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <map>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "capture/calibrate.h"
#include "capture/colour.h"
#include "capture/contact_sheet.h"
#include "capture/hull.h"
#include "capture/mat_file.h"
#include "capture/photo_raster.h"
#include "capture/silhouette.h"
#include "mesh/mesh_io.h"
#include "mesh/whole_file.h"
#include "tests/photobooth/capture_truth.h"

using namespace holdshelf;
namespace fs = std::filesystem;

namespace {

double seconds() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

std::vector<View> readDino(const fs::path& folder) {
  std::ifstream in(folder / "dinoSR_par.txt");
  int count = 0;
  in >> count;
  std::vector<View> views(count);
  for (View& view : views) {
    in >> view.photo;
    Eigen::Matrix3d K, R;
    Eigen::Vector3d t;
    for (auto* m : {&K, &R})
      for (int k = 0; k < 9; ++k) in >> (*m)(k / 3, k % 3);
    for (int k = 0; k < 3; ++k) in >> t[k];
    view.bgr = cv::imread((folder / view.photo).string());
    view.camera.model = {view.bgr.cols, view.bgr.rows, K(0, 0), K(1, 1), K(0, 2), K(1, 2)};
    view.camera.T_camera_hold.linear() = R;
    view.camera.T_camera_hold.translation() = 1000 * t;
  }
  return views;
}

/// The dinosaur's photos were taken before black: bright is object (README of the set).
std::vector<cv::Mat> brightMasks(const std::vector<View>& views) {
  std::vector<cv::Mat> masks;
  for (const View& view : views) {
    cv::Mat grey;
    cv::cvtColor(view.bgr, grey, cv::COLOR_BGR2GRAY);
    masks.push_back(grey > 0.19 * 255);
  }
  return masks;
}

cv::Mat drawMask(const TriangleMesh& mesh, const PosedCamera& camera) {
  return drawnMask(rasterise(mesh, rasterCamera(camera)));
}

/// The true shape seen from the calibrated cameras, whose frame is laid over the true cameras'.
std::vector<cv::Mat> trueMasks(const std::vector<View>& views, const fs::path& folder) {
  std::ifstream in(folder / "truth_cameras.json");
  const std::string list((std::istreambuf_iterator<char>(in)), {});
  CaptureReport truth;  // Borrowed for its list of cameras.
  const auto status =
      google::protobuf::util::JsonStringToMessage("{\"cameras\":" + list + "}", &truth);
  if (!status.ok()) throw std::runtime_error(status.ToString());
  std::map<std::string, Eigen::Vector3d> centres;
  for (const PhotoCamera& c : truth.cameras()) centres[c.photo()] = fromProto(c).centre_H_mm();
  Eigen::Matrix3Xd from(3, views.size()), to(3, views.size());
  for (std::size_t i = 0; i < views.size(); ++i) {
    from.col(long(i)) = centres.at(views[i].photo);
    to.col(long(i)) = views[i].camera.centre_H_mm();
  }
  Eigen::Isometry3d T_hold_truth(Eigen::umeyama(from, to, false));
  std::cout << "camera centres off the truth: "
            << std::sqrt((T_hold_truth * from - to).colwise().squaredNorm().mean()) << " mm rms\n";
  const TriangleMesh mesh = readMesh(folder / "truth.ply");
  std::vector<cv::Mat> masks;
  for (const View& view : views)
    masks.push_back(drawMask(mesh, {view.camera.model, view.camera.T_camera_hold * T_hold_truth}));
  return masks;
}

void drawOutline(cv::Mat& picture, const cv::Mat& mask, const cv::Scalar& colour) {
  std::vector<std::vector<cv::Point>> lines;
  cv::findContours(mask, lines, cv::RETR_LIST, cv::CHAIN_APPROX_NONE);
  cv::drawContours(picture, lines, -1, colour, 1);
}

double overlap(const cv::Mat& a, const cv::Mat& b) {
  return double(cv::countNonZero(a & b)) / std::max(1, cv::countNonZero(a | b));
}

/// One line a photo: overlap with the truth, with the hull's outline, and the largest depth in
/// pixels by which the outline cuts into the true one.
void compare(const std::vector<View>& views, const std::vector<SilhouetteVerdict>& verdicts,
             const std::vector<cv::Mat>& truth, const Hull& hull, const fs::path& out) {
  fs::create_directories(out);
  double sum = 0, hull_sum = 0;
  int used = 0;
  for (std::size_t i = 0; i < views.size(); ++i) {
    cv::Mat picture = views[i].bgr.clone();
    std::string line = views[i].photo + cv::format("  confidence %.3f", verdicts[i].confidence);
    if (!truth.empty()) drawOutline(picture, truth[i], {0, 255, 0});
    if (!views[i].mask.empty()) {
      drawOutline(picture, views[i].mask, {255, 0, 255});
      if (!truth.empty()) {
        cv::Mat depth;
        cv::distanceTransform(truth[i], depth, cv::DIST_L2, 5);
        depth.setTo(0, views[i].mask);
        double deepest;
        cv::minMaxLoc(depth, nullptr, &deepest);
        const double o = overlap(views[i].mask, truth[i]);
        const double h = overlap(drawMask(hull.mesh, views[i].camera), truth[i]);
        sum += o;
        hull_sum += h;
        ++used;
        line += cv::format("  overlap %.4f  hull's %.4f  cut in %.1f px", o, h, deepest);
      }
    }
    std::cout << line << "  " << verdicts[i].reason << "\n";
    cv::imwrite((out / cv::format("%02zu.png", i)).string(), picture);
  }
  if (used)
    std::cout << "mean overlap " << sum / used << ", hull's " << hull_sum / used << ", " << used
              << " of " << views.size() << " photos\n";
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 4) {
    std::cerr << "usage: silhouette_bench OUT --booth FOLDER | MAT.json PHOTO... | --dino FOLDER\n";
    return 2;
  }
  const fs::path out = argv[1];
  const std::string kind = argv[2];
  std::vector<View> views;
  SilhouetteInput input;
  HullOptions hull_options;
  ColourOptions colour_options;
  CaptureReport report;
  std::vector<fs::path> photos(argv + 3, argv + argc);
  std::vector<cv::Mat> truth;
  double start = seconds();
  if (kind == "--dino") {
    views = readDino(argv[3]);
    input.box_mm = Eigen::AlignedBox3d(Eigen::Vector3d(-61.897, -18.874, -57.845),
                                       Eigen::Vector3d(10.897, 68.227, 15.495));
    input.floor_z_mm = hull_options.floor_z_mm = -std::numeric_limits<double>::infinity();
    hull_options.box_mm = input.box_mm;
    truth = brightMasks(views);
  } else {
    const fs::path folder = argv[3];
    if (kind == "--booth") photos = photosIn(folder);
    const Mat mat = readMat(kind == "--booth" ? folder / "mat.json" : fs::path(kind));
    CalibratedCapture capture =
        calibrateCapture(photos, mat, {}, [](const auto&, double) { return true; });
    views = std::move(capture.views);
    input.mat = colour_options.mat = mat;
    input.mat_points_H_mm = colour_options.mat_points_H_mm = capture.mat_points_H_mm;
    for (const auto& p : capture.reports) *report.add_photos() = p;
    std::cout << "calibrated " << views.size() << " photos, " << capture.rms_px << " px\n";
    if (kind == "--booth") truth = trueMasks(views, folder);
  }
  std::cout << "read: " << seconds() - start << " s\n";
  start = seconds();
  const auto verdicts = findSilhouettes(views, input, {});
  std::cout << "silhouettes: " << seconds() - start << " s\n";
  start = seconds();
  Hull hull = carveHull(views, hull_options);
  std::cout << "hull: " << seconds() - start << " s, " << hull.mesh.triangles.size()
            << " triangles, box " << hull.box_mm.min().transpose() << " to "
            << hull.box_mm.max().transpose() << "\n";
  compare(views, verdicts, truth, hull, out);
  start = seconds();
  colourMesh(hull.mesh, views, colour_options, {});
  std::cout << "colouring: " << seconds() - start << " s\n";
  start = seconds();
  ContactSheetOptions sheet_options;
  sheet_options.title = "Hull only: " + out.filename().string();
  sheet_options.photo_files = photos;
  const auto png = contactSheetPng(hull.mesh, views, report, sheet_options);
  std::cout << "contact sheet: " << seconds() - start << " s\n";
  writeWhole(out / "sheet.png", {reinterpret_cast<const char*>(png.data()), png.size()});
}
