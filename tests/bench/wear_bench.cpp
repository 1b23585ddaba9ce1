// SPDX-License-Identifier: Apache-2.0
// Wear through the whole photo pipeline, on rendered photographs of one edge with a lip of 4 mm:
//   wear_bench shoot DIR KIND SEED [PHOTOS]   KIND: fresh, rounded (lip 4.5 mm), chipped (20 mm3 of
//                                             the lip gone). Photographs the hold anew, turned on
//                                             the mat by the seed, rebuilds it from the photos into
//                                             DIR/KIND-SEED/hold.ply and drops the photos.
//   wear_bench table DIR [BASELINE]           Compares every mesh there with the baseline
//                                             (fresh-1): one line each.
#include <Eigen/Geometry>
#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <exception>
#include <filesystem>
#include <random>
#include <string>
#include <vector>

#include "capture/mat_file.h"
#include "capture/rebuild.h"
#include "catalog/wear.h"
#include "mesh/measure_shape.h"
#include "mesh/mesh_io.h"
#include "tests/photobooth/booth.h"
#include "tests/shapes/holds.h"

namespace fs = std::filesystem;
using namespace holdshelf;
using Eigen::Vector3d;

namespace {

constexpr double kChunk_mm3 = 20;

/// Where the lip's arc bulges most, at the middle of the edge.
Vector3d lipPoint(const ExactHold& hold) {
  const Vector3d from(30, hold.box_mm.max().y() + 20, hold.box_mm.max().z() + 20);
  return hold.solid.project(Vector3d(from.x(), 24, hold.protrusion_mm));
}

/// Volume that a ball takes out of the solid, by counting cells of 0.05 mm.
double bite_mm3(const ExactHold& hold, const Vector3d& centre, double radius_mm) {
  constexpr double kCell = 0.05;
  std::int64_t inside = 0;
  const int n = static_cast<int>(radius_mm / kCell) + 1;
  for (int i = -n; i <= n; ++i)
    for (int j = -n; j <= n; ++j)
      for (int k = -n; k <= n; ++k) {
        const Vector3d d(i * kCell, j * kCell, k * kCell);
        inside += d.norm() < radius_mm && hold.solid(centre + d) < 0 ? 1 : 0;
      }
  return static_cast<double>(inside) * kCell * kCell * kCell;
}

ExactHold chipped(const ExactHold& hold) {
  const Vector3d lip = lipPoint(hold), out = hold.solid.gradient(lip).normalized();
  double low = 0, high = 5;  // Of the radius of a ball centred 0.8 mm outside.
  for (int i = 0; i < 12; ++i) {
    const double middle = (low + high) / 2;
    (bite_mm3(hold, lip + 0.8 * out, middle) < kChunk_mm3 ? low : high) = middle;
  }
  ExactHold result = hold;
  result.solid = subtract(hold.solid, translate(sphere(high), lip + 0.8 * out));
  return result;
}

ExactHold turned(const ExactHold& hold, double angle_deg) {
  ExactHold result = hold;
  result.solid = rotate(hold.solid, angle_deg, Vector3d::UnitZ());
  const double reach = std::hypot(hold.box_mm.min().head<2>().cwiseAbs().maxCoeff(),
                                  hold.box_mm.max().head<2>().cwiseAbs().maxCoeff());
  result.box_mm = Eigen::AlignedBox3d(Vector3d(-reach, -reach, hold.box_mm.min().z()),
                                      Vector3d(reach, reach, hold.box_mm.max().z()));
  return result;
}

ExactHold holdOf(const std::string& kind) {
  EdgeSpec spec;
  if (kind == "rounded") spec.lip_radius_mm += 0.5;
  const ExactHold hold = withBolt(edgeHold(spec), {});
  return kind == "chipped" ? chipped(hold) : hold;
}

void shoot(const fs::path& folder, const std::string& kind, unsigned seed, int photos) {
  const fs::path place = folder / (kind + "-" + std::to_string(seed));
  if (fs::exists(place)) return;
  std::mt19937 random(seed);
  BoothOptions options;
  options.seed = options.stage.seed = options.mat.seed = seed;
  options.mat.bend_mm = 0.5;
  options.rig.photos = photos;
  options.rig.seed = seed;
  options.lens.samples = 4;
  options.stage.paint.albedo_bgr = colourNamed("red");
  const double angle_deg = std::uniform_real_distribution<double>(-40, 40)(random);
  const fs::path booth = folder / ("photos-" + kind + "-" + std::to_string(seed));
  fs::remove_all(booth);
  const Progress on = [](const std::string&, double) { return true; };
  photograph(turned(holdOf(kind), angle_deg), options, booth, on);
  std::vector<fs::path> files;
  for (const auto& entry : fs::directory_iterator(booth))
    if (entry.path().extension() == ".jpg") files.push_back(entry.path());
  std::sort(files.begin(), files.end());
  const Rebuilt rebuilt = rebuild(files, readMat(booth / "mat.json"), {}, on);
  fs::create_directories(place);
  writePly(place / "hold.ply", rebuilt.mesh);
  fs::rename(booth, place / "photos");
}

void table(const fs::path& folder, const std::string& baseline) {
  const TriangleMesh before = readMesh(folder / baseline / "hold.ply");
  const Shape shape = measureShape(before);
  std::vector<fs::path> places;
  for (const auto& entry : fs::directory_iterator(folder))
    if (fs::exists(entry.path() / "hold.ply") && entry.path().filename() != baseline)
      places.push_back(entry.path());
  std::sort(places.begin(), places.end());
  for (const fs::path& place : places) {
    Wear wear = compareScans(before, shape, readMesh(place / "hold.ply"));
    wear.set_hold(place.filename().string());
    std::printf("%s\n  surfaces apart by %.3f mm (median), limit %.3f mm\n", wearText(wear).c_str(),
                wear.median_mm(), wear.detection_limit_mm());
    for (const LostChunk& c : wear.chunks())
      std::printf("  gone: %.1f +- %.1f mm3, %.2f mm deep, %.1f mm2 at %.1f %.1f %.1f\n",
                  c.volume_mm3().value(), c.volume_mm3().sigma(), c.deepest_mm(), c.area_mm2(),
                  c.x_mm(), c.y_mm(), c.z_mm());
    for (const LipChange& lip : wear.lips())
      if (lip.rotation_deg() <= 20 || lip.rotation_deg() >= 340)
        std::printf("  lip at %.0f: %+.2f +- %.2f mm%s\n", lip.rotation_deg(),
                    lip.radius_growth_mm().value(), lip.radius_growth_mm().sigma(),
                    lip.sure() ? ", sure" : "");
  }
}

}  // namespace

int main(int argc, char** argv) {
  try {
    const std::string what = argc > 2 ? argv[1] : "";
    if (what == "shoot" && argc > 4) {
      shoot(argv[2], argv[3], static_cast<unsigned>(std::atoi(argv[4])),
            argc > 5 ? std::atoi(argv[5]) : 36);
    } else if (what == "table") {
      table(argv[2], argc > 3 ? argv[3] : "fresh-1");
    } else {
      std::fprintf(stderr, "usage: wear_bench shoot DIR KIND SEED [PHOTOS] | table DIR [BASE]\n");
      return 2;
    }
  } catch (const std::exception& e) {
    std::fprintf(stderr, "wear_bench: %s\n", e.what());
    return 1;
  }
}
