// SPDX-License-Identifier: Apache-2.0
// Finds the hold in a capture's photos and says how well: against exact masks where a folder of
// them is given.
//   silhouette_bench OUT MAT.json PHOTO...         with a mat
//   silhouette_bench OUT --dino FOLDER             the dino16 set (see testdata's notes)
// Writes OUT/NN.png, each photo with its outline, and OUT/hull.txt.
#include <chrono>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

#include "capture/calibrate.h"
#include "capture/hull.h"
#include "capture/mat_file.h"
#include "capture/silhouette.h"

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

void writeOutlines(const std::vector<View>& views, const std::vector<SilhouetteVerdict>& verdicts,
                   const fs::path& out) {
  fs::create_directories(out);
  for (std::size_t i = 0; i < views.size(); ++i) {
    cv::Mat picture = views[i].bgr.clone();
    if (!views[i].mask.empty()) {
      std::vector<std::vector<cv::Point>> lines;
      cv::findContours(views[i].mask, lines, cv::RETR_LIST, cv::CHAIN_APPROX_NONE);
      cv::drawContours(picture, lines, -1, {255, 0, 255}, 1);
    }
    cv::putText(picture, cv::format("%zu  %.3f", i, verdicts[i].confidence), {10, 40},
                cv::FONT_HERSHEY_SIMPLEX, 1, {0, 0, 255}, 2);
    cv::imwrite((out / cv::format("%02zu.png", i)).string(), picture);
  }
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 4) {
    std::cerr << "usage: silhouette_bench OUT MAT.json PHOTO... | OUT --dino FOLDER\n";
    return 2;
  }
  const fs::path out = argv[1];
  std::vector<View> views;
  SilhouetteInput input;
  HullOptions hull_options;
  double start = seconds();
  if (std::string(argv[2]) == "--dino") {
    views = readDino(argv[3]);
    input.box_mm = Eigen::AlignedBox3d(Eigen::Vector3d(-61.897, -18.874, -57.845),
                                       Eigen::Vector3d(10.897, 68.227, 15.495));
    input.floor_z_mm = hull_options.floor_z_mm = -std::numeric_limits<double>::infinity();
    hull_options.box_mm = input.box_mm;
  } else {
    const Mat mat = readMat(argv[2]);
    CalibratedCapture capture = calibrateCapture({argv + 3, argv + argc}, mat, {},
                                                 [](const auto&, double) { return true; });
    views = std::move(capture.views);
    input.mat = mat;
    input.mat_points_H_mm = capture.mat_points_H_mm;
    std::cout << "calibrated " << views.size() << " photos, " << capture.rms_px << " px\n";
  }
  std::cout << "read: " << seconds() - start << " s\n";
  start = seconds();
  const auto verdicts = findSilhouettes(views, input, {});
  std::cout << "silhouettes: " << seconds() - start << " s\n";
  writeOutlines(views, verdicts, out);
  for (std::size_t i = 0; i < verdicts.size(); ++i)
    std::cout << views[i].photo << " " << verdicts[i].confidence << " " << verdicts[i].reason
              << "\n";
  start = seconds();
  const Hull hull = carveHull(views, hull_options);
  std::cout << "hull: " << seconds() - start << " s, " << hull.mesh.triangles.size()
            << " triangles, box " << hull.box_mm.min().transpose() << " to "
            << hull.box_mm.max().transpose() << "\n";
}
