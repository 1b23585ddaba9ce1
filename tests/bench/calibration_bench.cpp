// SPDX-License-Identifier: Apache-2.0
// Prints what the calibration of a capture reaches: `calibration_bench FOLDER...`, each with
// mat.json and photos. Where truth_cameras.json lies beside them, its errors against the truth.
#include <algorithm>
#include <cstdio>
#include <filesystem>

#include "capture/calibrate.h"
#include "capture/mat_file.h"
#include "mesh/bad_input.h"

using namespace holdshelf;

namespace {

std::vector<std::filesystem::path> photosIn(const std::filesystem::path& folder) {
  std::vector<std::filesystem::path> out;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    const auto ext = entry.path().extension();
    if (ext == ".png" || ext == ".jpg" || ext == ".jpeg") out.push_back(entry.path());
  }
  std::sort(out.begin(), out.end());
  return out;
}

void bench(const std::filesystem::path& folder) {
  const Mat mat = readMat(folder / "mat.json");
  const auto capture = calibrateCapture(photosIn(folder), mat, {}, {});
  std::printf("%s: %zu of %zu photos, rms %.4f px\n", folder.c_str(), capture.views.size(),
              capture.reports.size(), capture.rms_px);
  const CameraModel& c = capture.lens;
  std::printf("  fx %.2f +- %.2f fy %.2f cx %.2f cy %.2f k1 %.4f k2 %.4f k3 %.4f p1 %.5f p2 %.5f\n",
              c.fx_px, capture.focal_sigma_px, c.fy_px, c.cx_px, c.cy_px, c.k1, c.k2, c.k3, c.p1,
              c.p2);
  double lowest = 1e9, highest = -1e9;
  for (const auto& X : capture.mat_points_H_mm)
    lowest = std::min(lowest, X.z()), highest = std::max(highest, X.z());
  std::printf("  mat z %.2f to %.2f mm, plane sigma %.3f mm, scale sigma %.4f %%\n", lowest,
              highest, capture.plane_sigma_mm, 100 * capture.scale_sigma_rel);
  const PaperCheck& paper = capture.paper;
  std::printf("  paper found %d: %.2f x %.2f nominal mm, %s, scale %.4f %s\n", paper.found(),
              paper.width_nominal_mm(), paper.height_nominal_mm(), paper.paper().c_str(),
              paper.suggested_mat_scale(), paper.message().c_str());
  for (const auto& r : capture.reports)
    std::printf("  %s: %d markers, rms %.3f px, edge %.2f px, azimuth %.1f elevation %.1f %s\n",
                r.photo().c_str(), r.markers_found(), r.reprojection_rms_px(), r.sharpness(),
                r.azimuth_deg(), r.elevation_deg(), r.reason().c_str());
  for (const auto& t : capture.times) std::printf("  %s: %.2f s\n", t.stage().c_str(), t.seconds());
}

}  // namespace

int main(int argc, char** argv) {
  for (int i = 1; i < argc; ++i) try {
      bench(argv[i]);
    } catch (const BadInput& bad) {
      std::printf("%s: %s\n", argv[i], bad.what());
    }
}
