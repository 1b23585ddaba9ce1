// SPDX-License-Identifier: Apache-2.0
// captures_bench OUT CAPTURE_DIR...: rebuilds photobooth captures and scores them in one go, one
// row of tests/bench/README.md each: errors placed and fitted, scale, protrusion, the share of the
// vertices within 1 and 2 of their stated uncertainties, time. OUT/CAPTURE gets hold.ply and
// report.json, for score_bench and uncertainty_bench.
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <exception>
#include <filesystem>
#include <string>

#include "capture/mat_file.h"
#include "capture/rebuild.h"
#include "mesh/mesh_io.h"
#include "tests/photobooth/capture_truth.h"
#include "tests/photobooth/score.h"

using namespace holdshelf;
namespace fs = std::filesystem;

namespace {

double topOf(const TriangleMesh& mesh) {
  double top = 0;
  for (const Eigen::Vector3d& p : mesh.vertices_mm) top = std::max(top, p.z());
  return top;
}

void row(const fs::path& folder, const fs::path& out) {
  const auto start = std::chrono::steady_clock::now();
  const ExactHold hold = holdNamed(shapeInCapture(folder));
  const Rebuilt rebuilt = rebuild(photosIn(folder), readMat(folder / "mat.json"), {},
                                  [](const std::string&, double) { return true; });
  const double seconds =
      std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  fs::create_directories(out);
  writePly(out / "hold.ply", rebuilt.mesh);
  writeReport(out / "report.json", rebuilt.report);
  const Eigen::Isometry3d placed = truthFromReport(rebuilt.report);
  const TruthFit rigid = fitToTruth(rebuilt.mesh, placed, hold, false);
  const TruthFit similar = fitToTruth(rebuilt.mesh, rigid.T_truth_mesh, hold, true);
  const Score as_placed = scoreSurface(rebuilt.mesh, placed, hold);
  const Score fitted = scoreSurface(rebuilt.mesh, rigid.T_truth_mesh, hold);
  const auto errors = statedErrors(rebuilt.mesh, rigid.T_truth_mesh, hold);
  std::printf(
      "| %s | %.3f / %.3f | %.3f / %.3f | %.2f %% | %+.3f %% | %+.3f | %.0f, %.0f %% | %.1f |\n",
      folder.filename().c_str(), as_placed.median_mm, as_placed.p95_mm, fitted.median_mm,
      fitted.p95_mm, 100 * fitted.covered, 100 * (1 / similar.scale - 1),
      topOf(rebuilt.mesh) - hold.protrusion_mm, 100 * shareWithin(errors, 1),
      100 * shareWithin(errors, 2), seconds);
  std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 3) {
    std::fprintf(stderr, "usage: captures_bench OUT CAPTURE_DIR...\n");
    return 2;
  }
  std::printf(
      "| capture | placed, median / 95 %% | fitted, median / 95 %% | within 0.5 mm | scale by fit "
      "| "
      "protrusion | within 1, 2 | time, s |\n|---|---|---|---|---|---|---|---|\n");
  int failed = 0;
  for (int i = 2; i < argc; ++i) {
    const fs::path folder = fs::path(argv[i]).lexically_normal();
    try {
      row(folder, fs::path(argv[1]) / folder.filename());
    } catch (const std::exception& e) {
      std::fprintf(stderr, "captures_bench: %s: %s\n", folder.c_str(), e.what());
      failed = 1;
    }
  }
  return failed;
}
