// SPDX-License-Identifier: Apache-2.0
// score_bench CAPTURE_DIR MESH.ply [REPORT.json]: how well a mesh rebuilt from a photobooth capture
// meets the exact shape. Without a report the mesh is taken to stand in the mat's frame.
#include <google/protobuf/struct.pb.h>
#include <google/protobuf/util/json_util.h>

#include <algorithm>
#include <cstdio>
#include <fstream>
#include <sstream>
#include <stdexcept>

#include "mesh/mesh_io.h"
#include "proto/capture_report.pb.h"
#include "tests/photobooth/score.h"

using namespace holdshelf;

namespace {

template <typename Message>
Message readJson(const std::string& path) {
  std::ifstream in(path);
  std::stringstream text;
  text << in.rdbuf();
  Message message;
  if (!in || !google::protobuf::util::JsonStringToMessage(text.str(), &message).ok())
    throw std::runtime_error("Cannot read " + path);
  return message;
}

Eigen::Isometry3d truthFromHold(const std::string& report_path) {
  const auto report = readJson<CaptureReport>(report_path);
  const Pose& pose = report.t_hold_mat();
  if (pose.rotation_size() != 9 || pose.translation_mm_size() != 3)
    throw std::runtime_error(report_path + " has no T_hold_mat");
  Eigen::Isometry3d T = Eigen::Isometry3d::Identity();
  for (int i = 0; i < 9; ++i) T.linear()(i / 3, i % 3) = pose.rotation(i);
  for (int i = 0; i < 3; ++i) T.translation()[i] = pose.translation_mm(i);
  return T.inverse();
}

void print(const char* name, const Score& s) {
  std::printf("%-10s median %.3f  95 %% %.3f  largest %.2f  bias %+.3f mm  within 0.5 mm %.2f %%\n",
              name, s.median_mm, s.p95_mm, s.largest_mm, s.bias_mm, 100 * s.covered);
}

void run(const std::string& folder, const std::string& mesh_path, const std::string& report_path) {
  const auto truth = readJson<google::protobuf::Struct>(folder + "/truth.json");
  const ExactHold hold = holdNamed(truth.fields().at("shape").string_value());
  const TriangleMesh mesh = readMesh(mesh_path);
  const Eigen::Isometry3d start =
      report_path.empty() ? Eigen::Isometry3d::Identity() : truthFromHold(report_path);
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
