// SPDX-License-Identifier: Apache-2.0
// captures_bench [--quality draft|normal|fine] OUT CAPTURE_DIR...: rebuilds photobooth captures and
// scores them in one go, one row of tests/bench/README.md each: errors placed and fitted, scale,
// protrusion, the share of the vertices within 1 and 2 of their stated uncertainties, time by the
// clock and of the processors, peak memory. OUT/CAPTURE gets hold.ply and report.json, for
// score_bench and uncertainty_bench.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <exception>
#include <filesystem>
#include <string>
#include <vector>

#include "capture/mat_file.h"
#include "capture/rebuild.h"
#include "mesh/mesh_io.h"
#include "tests/bench/meter.h"
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

void row(const fs::path& folder, const fs::path& out, const RebuildOptions& options) {
  const ExactHold hold = holdNamed(shapeInCapture(folder));
  const Meter meter;
  const Rebuilt rebuilt = rebuild(photosIn(folder), readMat(folder / "mat.json"), options,
                                  [](const std::string&, double) { return true; });
  const double wall = meter.wall_s(), cpu = meter.cpu_s(), peak = Meter::peakMiB();
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
      "| %s | %.3f / %.3f | %.3f / %.3f | %.2f %% | %+.3f %% | %+.3f | %.0f, %.0f %% | %.1f, "
      "%.1f | %.0f |\n",
      folder.filename().c_str(), as_placed.median_mm, as_placed.p95_mm, fitted.median_mm,
      fitted.p95_mm, 100 * fitted.covered, 100 * (1 / similar.scale - 1),
      topOf(rebuilt.mesh) - hold.protrusion_mm, 100 * shareWithin(errors, 1),
      100 * shareWithin(errors, 2), wall, cpu, peak);
  std::fflush(stdout);
}

Quality qualityNamed(const std::string& name) {
  if (name == "draft") return Quality::Draft;
  if (name == "normal") return Quality::Normal;
  if (name == "fine") return Quality::Fine;
  throw std::invalid_argument("no quality is called " + name);
}

int run(std::vector<std::string> words) {
  RebuildOptions options;
  if (words.size() > 1 && words[0] == "--quality") {
    options.quality = qualityNamed(words[1]);
    words.erase(words.begin(), words.begin() + 2);
  }
  if (words.size() < 2) {
    std::fprintf(stderr, "usage: captures_bench [--quality NAME] OUT CAPTURE_DIR...\n");
    return 2;
  }
  std::printf(
      "| capture | placed, median / 95 %% | fitted, median / 95 %% | within 0.5 mm | scale by fit "
      "| "
      "protrusion | within 1, 2 | time by the clock, of the processors, s | memory, MiB |\n"
      "|---|---|---|---|---|---|---|---|---|\n");
  int failed = 0;
  for (std::size_t i = 1; i < words.size(); ++i) {
    const fs::path folder = fs::path(words[i]).lexically_normal();
    try {
      row(folder, fs::path(words[0]) / folder.filename(), options);
    } catch (const std::exception& e) {
      std::fprintf(stderr, "captures_bench: %s: %s\n", folder.c_str(), e.what());
      failed = 1;
    }
  }
  return failed;
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run({argv + 1, argv + argc});
  } catch (const std::exception& e) {
    std::fprintf(stderr, "captures_bench: %s\n", e.what());
    return 1;
  }
}
