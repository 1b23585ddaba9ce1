// SPDX-License-Identifier: Apache-2.0
// uncertainty_bench CAPTURE_DIR MESH.ply REPORT.json [CAPTURE_DIR MESH.ply REPORT.json ...]: how a
// rebuilt surface's error compares with what each vertex states and with what theory allows.
//
// Stated: share of the vertices (not guesswork, z > 1 mm, outside the bolt's recess) whose distance
// from the exact surface, after the best rigid motion, lies within 1 and 2 of their own standard
// uncertainties; 68 and 95 % would be right for Gaussian errors. `factor` times the stated
// uncertainties would make the first 68 %.
//
// Theory: precisionLimit_mm. Its median and 95 % are those of |Gaussian|: 0.674 and 1.960 sigma.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <exception>
#include <string>

#include "mesh/mesh_io.h"
#include "proto/capture_report.pb.h"
#include "tests/photobooth/capture_truth.h"
#include "tests/photobooth/score.h"

using namespace holdshelf;

namespace {

double quantile(std::vector<double> values, double share) {
  if (values.empty()) return 0;
  const auto at = values.begin() + static_cast<std::ptrdiff_t>(share * double(values.size() - 1));
  std::nth_element(values.begin(), at, values.end());
  return *at;
}

void row(const std::string& folder, const std::string& mesh_path, const std::string& report_path) {
  const ExactHold hold = holdNamed(shapeInCapture(folder));
  const TriangleMesh mesh = readMesh(mesh_path);
  const CaptureReport report = readReport(report_path);
  const TruthFit fit = fitToTruth(mesh, truthFromReport(report_path), hold, false);
  const Score score = scoreSurface(mesh, fit.T_truth_mesh, hold);
  const std::vector<StatedError> errors = statedErrors(mesh, fit.T_truth_mesh, hold);
  std::vector<double> ratios, sigmas;
  for (const StatedError& e : errors) {
    ratios.push_back(e.error_mm / e.stated_mm);
    sigmas.push_back(e.stated_mm);
  }
  const double S = pixelSize_mm(report);
  const double limit = precisionLimit_mm(report);
  std::printf(
      "| %s | %.3f | %.3f / %.3f | %.3f / %.3f | %.1f / %.1f | %.3f | %.0f %% | %.0f %% | %.2f |\n",
      hold.name.c_str(), S, 0.674 * limit, 1.960 * limit, score.median_mm, score.p95_mm,
      score.median_mm / (0.674 * limit), score.p95_mm / (1.960 * limit), quantile(sigmas, 0.5),
      100 * shareWithin(errors, 1), 100 * shareWithin(errors, 2), quantile(ratios, 0.6827));
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 4 || argc % 3 != 1) {
    std::fprintf(stderr, "usage: uncertainty_bench CAPTURE_DIR MESH.ply REPORT.json ...\n");
    return 2;
  }
  try {
    std::printf(
        "| capture | mm a pixel | limit, median / 95 %% | fitted, median / 95 %% | ratio | stated, "
        "median | within 1 | within 2 | factor |\n|---|---|---|---|---|---|---|---|---|\n");
    for (int i = 1; i + 2 < argc; i += 3) row(argv[i], argv[i + 1], argv[i + 2]);
  } catch (const std::exception& e) {
    std::fprintf(stderr, "uncertainty_bench: %s\n", e.what());
    return 1;
  }
}
