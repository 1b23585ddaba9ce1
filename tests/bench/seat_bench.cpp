// SPDX-License-Identifier: Apache-2.0
// seat_bench CAPTURE_DIR MESH.ply REPORT.json [CAPTURE_DIR ...]: bolt seats measured on rebuilt
// photobooth captures, beside the exact ones and beside what the photos can show at all: the share
// of the ring in which a head bears that two, or three, of the true cameras see, by rays against
// the exact shape. Errors are from the wall plane up, so they hold the plane's own error too.
#include <google/protobuf/util/json_util.h>

#include <cmath>
#include <cstdio>
#include <exception>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "capture/camera.h"
#include "mesh/measure_shape.h"
#include "mesh/mesh_io.h"
#include "mesh/ray_scene.h"
#include "tests/photobooth/capture_truth.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

std::vector<PosedCamera> trueCameras(const std::string& folder) {
  std::ifstream in(folder + "/truth_cameras.json");
  const std::string list{std::istreambuf_iterator<char>(in), {}};
  CaptureReport cameras;
  google::protobuf::util::JsonParseOptions options;
  options.ignore_unknown_fields = true;
  if (!google::protobuf::util::JsonStringToMessage("{\"cameras\":" + list + "}", &cameras, options)
           .ok())
    throw std::runtime_error(folder + "/truth_cameras.json cannot be read.");
  std::vector<PosedCamera> posed;
  for (const PhotoCamera& camera : cameras.cameras()) posed.push_back(fromProto(camera));
  return posed;
}

/// Share of the bearing ring that at least so many cameras see.
struct Shown {
  double by_two = 0, by_three = 0;
};

Shown shownBy(const std::vector<PosedCamera>& cameras, const ExactHold& hold) {
  const ExactBolt& bolt = *hold.bolt;
  const RayScene scene(meshSdf(hold.solid, hold.box_mm, 0.5));
  int all = 0, two = 0, three = 0;
  for (double r = bolt.bore_mm / 2 + 0.25; r < bolt.recess_mm / 2 - 0.25; r += 0.5)
    for (int k = 0; k < 72; ++k) {
      const double a = k * M_PI / 36;
      const Vector3d p(bolt.axis_mm.x() + r * std::cos(a), bolt.axis_mm.y() + r * std::sin(a),
                       bolt.seat_height_mm);
      int seen = 0;
      for (const PosedCamera& camera : cameras)
        seen += !scene.occluded(p, camera.centre_H_mm(), 0.4);
      ++all;
      two += seen >= 2;
      three += seen >= 3;
    }
  return {double(two) / all, double(three) / all};
}

void row(const std::string& folder, const std::string& mesh, const std::string& report_file) {
  const ExactHold hold = holdNamed(shapeInCapture(folder));
  if (!hold.bolt) return;
  const ExactBolt& bolt = *hold.bolt;
  const Shown shown = shownBy(trueCameras(folder), hold);
  const Shape shape = measureAtRotation(readMesh(mesh), 0);
  std::printf("| %s | %.0f (%.0f wide) | %.0f, %.0f %% |", folder.c_str(), bolt.seat_height_mm,
              bolt.recess_mm, 100 * shown.by_two, 100 * shown.by_three);
  if (shape.bolt_seats().empty()) {
    std::string why;
    const CaptureReport report = readReport(report_file);
    for (const std::string& advice : report.advice())
      if (advice.find("bolt") != std::string::npos) why = advice;
    std::printf(" not found | | | %s |\n", why.c_str());
    return;
  }
  const BoltSeat& seat = shape.bolt_seats(0);
  const Measured& height = seat.seat_height_mm();
  std::printf(" %.2f +- %.2f | %+.2f | %.1f | %.0f %% guesswork%s |\n", height.value(),
              height.sigma(), height.value() - bolt.seat_height_mm,
              std::abs(height.value() - bolt.seat_height_mm) / height.sigma(),
              100 * seat.guesswork_share(), shape.bolt_seats_size() > 1 ? ", more seats" : "");
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 4 || (argc - 1) % 3 != 0) {
    std::fprintf(stderr, "usage: seat_bench CAPTURE_DIR MESH.ply REPORT.json [...]\n");
    return 2;
  }
  std::printf(
      "| capture | seat, mm | floor shown to 2, 3 photos | measured, mm | error, mm | of stated | "
      "|\n|---|---|---|---|---|---|---|\n");
  try {
    for (int i = 1; i + 2 < argc; i += 3) row(argv[i], argv[i + 1], argv[i + 2]);
  } catch (const std::exception& e) {
    std::fprintf(stderr, "seat_bench: %s\n", e.what());
    return 1;
  }
}
