// SPDX-License-Identifier: Apache-2.0
// score_bench CAPTURE_DIR MESH.ply [REPORT.json]: how well a mesh rebuilt from a photobooth capture
// meets the exact shape. Without a report the mesh is taken to stand in the mat's frame.
#include <algorithm>
#include <cstdio>
#include <exception>
#include <string>

#include "mesh/mesh_io.h"
#include "tests/photobooth/capture_truth.h"
#include "tests/photobooth/score.h"

using namespace holdshelf;

namespace {

void print(const char* name, const Score& s) {
  std::printf("%-10s median %.3f  95 %% %.3f  largest %.2f  bias %+.3f mm  within 0.5 mm %.2f %%\n",
              name, s.median_mm, s.p95_mm, s.largest_mm, s.bias_mm, 100 * s.covered);
}

void run(const std::string& folder, const std::string& mesh_path, const std::string& report_path) {
  const ExactHold hold = holdNamed(shapeInCapture(folder));
  const TriangleMesh mesh = readMesh(mesh_path);
  const Eigen::Isometry3d start = truthFromReport(report_path);
  print("as placed", scoreSurface(mesh, start, hold));
  const TruthFit rigid = fitToTruth(mesh, start, hold, false);
  print("best fit", scoreSurface(mesh, rigid.T_truth_mesh, hold));
  const Eigen::Isometry3d moved = rigid.T_truth_mesh * start.inverse();
  const TruthFit similar = fitToTruth(mesh, rigid.T_truth_mesh, hold, true);
  double top = 0;
  for (const Eigen::Vector3d& p : mesh.vertices_mm) top = std::max(top, p.z());
  std::printf("shape %s  triangles %zu  scale error %+.4f %%  protrusion error %+.3f mm\n",
              hold.name.c_str(), mesh.triangles.size(), 100 * (1 / similar.scale - 1),
              top - hold.protrusion_mm);
  std::printf("placement off by %.3f mm at the origin, %.3f degrees\n", moved.translation().norm(),
              Eigen::AngleAxisd(moved.linear()).angle() * 57.29577951308232);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 3 || argc > 4) {
    std::fprintf(stderr, "usage: score_bench CAPTURE_DIR MESH.ply [REPORT.json]\n");
    return 2;
  }
  try {
    run(argv[1], argv[2], argc > 3 ? argv[3] : "");
  } catch (const std::exception& e) {
    std::fprintf(stderr, "score_bench: %s\n", e.what());
    return 1;
  }
}
