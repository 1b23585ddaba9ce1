// SPDX-License-Identifier: Apache-2.0
// Makes the small meshes of exactly known holds that the demo's evening is set with, and says how
// long each takes to mesh: evening_holds_bench FOLDER. The copies in testdata/demo/evening are its
// output.
#include <chrono>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "mesh/mesh_io.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

namespace {

using namespace holdshelf;

constexpr double kCell_mm = 1.2;  // Coarser ones blur the bolt seats.

struct EveningHold {
  const char* file;
  ExactHold hold;
};

ExactHold edge(double depth_mm, double lip_radius_mm, double incut_deg, double width_mm,
               double protrusion_mm, double seat_mm) {
  EdgeSpec spec;
  spec.depth_mm = depth_mm;
  spec.lip_radius_mm = lip_radius_mm;
  spec.incut_deg = incut_deg;
  spec.width_mm = width_mm;
  spec.protrusion_mm = protrusion_mm;
  ExactBolt bolt;
  bolt.seat_height_mm = seat_mm;
  return withBolt(edgeHold(spec), bolt);
}

ExactHold bolted(const ExactHold& hold, double seat_mm) {
  ExactBolt bolt;
  bolt.seat_height_mm = seat_mm;
  return withBolt(hold, bolt);
}

/// So thin and narrow that hands get little of it; held by two screws.
ExactHold thinChip() {
  EdgeSpec spec;
  spec.depth_mm = 5;
  spec.lip_radius_mm = 1;
  spec.incut_deg = 6;
  spec.protrusion_mm = 7;
  spec.width_mm = 30;
  spec.root_radius_mm = 1;
  spec.lip_y_mm = 10;
  spec.floor_mm = 10;
  spec.front_mm = 22;
  spec.end_blend_mm = 3;
  ExactBolt screw;
  screw.seat = ExactBolt::Seat::Cone;
  screw.seat_height_mm = 2.5;
  screw.bore_mm = 5;
  screw.recess_mm = 10;
  ExactHold hold = edgeHold(spec);
  for (const double x_mm : {-8.0, 8.0}) {
    screw.axis_mm = {x_mm, -2};
    hold = withBolt(hold, screw);
  }
  return hold;
}

std::vector<EveningHold> eveningHolds() {
  return {{"quay_crimp", edge(15, 3, 12, 84, 32, 14)},
          {"pier_crimp", edge(12, 2.5, 14, 64, 28, 12)},
          {"slipway_jug", edge(44, 10, 30, 104, 58, 20)},
          {"bollard_high", edge(37, 6, 6, 104, 62, 22)},
          {"bollard_low", edge(28, 6, 6, 104, 40, 15)},
          {"gravel_step", edge(18, 4, 20, 90, 34, 14)},
          {"shingle_chip", thinChip()},
          {"buoy", bolted(domeHold(80, 42), 20)}};
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) {
    std::fprintf(stderr, "usage: evening_holds_bench FOLDER\n");
    return 2;
  }
  std::filesystem::create_directories(argv[1]);
  for (const EveningHold& item : eveningHolds()) {
    const auto start = std::chrono::steady_clock::now();
    const TriangleMesh mesh = meshSdf(item.hold.solid, item.hold.box_mm, kCell_mm);
    const std::chrono::duration<double> took = std::chrono::steady_clock::now() - start;
    const std::string file = std::string(argv[1]) + "/" + item.file + ".ply";
    std::ofstream(file, std::ios::binary) << plyBytes(mesh);
    std::printf("%s: %zu triangles, %.2f s\n", file.c_str(), mesh.triangles.size(), took.count());
  }
  return 0;
}
