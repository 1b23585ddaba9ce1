// SPDX-License-Identifier: Apache-2.0
// acceptance_bench CAPTURE_DIR MESH.ply [REPORT.json]: probing errors, sphere spacing errors and
// flatness of a mesh rebuilt from a photobooth capture of an artefact (balls-*, flat-*).
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <exception>
#include <string>

#include "mesh/mesh_io.h"
#include "tests/photobooth/acceptance.h"
#include "tests/photobooth/capture_truth.h"
#include "tests/photobooth/score.h"

using namespace holdshelf;

namespace {

void run(const std::string& folder, const std::string& mesh_path, const std::string& report_path) {
  const Artefact artefact = artefactNamed(shapeInCapture(folder));
  const TriangleMesh mesh = readMesh(mesh_path);
  const TruthFit fit = fitToTruth(mesh, truthFromReport(report_path), artefact.body, false);
  const Acceptance a = acceptArtefact(mesh, fit.T_truth_mesh, artefact);
  double worst_size = 0, worst_form = 0, worst_spacing = 0;
  for (std::size_t i = 0; i < a.balls.size(); ++i) {
    std::printf("ball %zu  PF %.3f  PS %+.3f mm  points %d  rejected %.2f %%\n", i,
                a.balls[i].form_mm, a.size_mm[i], a.balls[i].points, 100 * a.balls[i].rejected);
    worst_form = std::max(worst_form, a.balls[i].form_mm);
    worst_size = std::max(worst_size, std::abs(a.size_mm[i]));
  }
  for (double spacing : a.spacing_mm) {
    std::printf("SD %+.3f mm\n", spacing);
    worst_spacing = std::max(worst_spacing, std::abs(spacing));
  }
  if (!a.balls.empty())
    std::printf("%s: largest PF %.3f  |PS| %.3f  |SD| %.3f mm\n", artefact.body.name.c_str(),
                worst_form, worst_size, worst_spacing);
  if (a.flat)
    std::printf("%s: F %.3f mm  points %d  rejected %.2f %%\n", artefact.body.name.c_str(),
                a.flat->form_mm, a.flat->points, 100 * a.flat->rejected);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 3 || argc > 4) {
    std::fprintf(stderr, "usage: acceptance_bench CAPTURE_DIR MESH.ply [REPORT.json]\n");
    return 2;
  }
  try {
    run(argv[1], argv[2], argc > 3 ? argv[3] : "");
  } catch (const std::exception& e) {
    std::fprintf(stderr, "acceptance_bench: %s\n", e.what());
    return 1;
  }
}
