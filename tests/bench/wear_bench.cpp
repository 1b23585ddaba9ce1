// SPDX-License-Identifier: Apache-2.0
// Wear through the whole photo pipeline, on rendered photographs of one edge with a lip of 4 mm:
//   wear_bench photos DIR [COUNT]  The list below (its first COUNT captures): photographs the hold
//                                  anew for each, turned on the mat by the seed, rebuilds it, and
//                                  compares all with the baseline. What is there is kept, so an
//                                  interrupted run goes on where it stopped.
//   wear_bench render DIR [COUNT] | rebuild DIR [COUNT] | judge DIR [COUNT]   One step of it.
//   wear_bench table DIR [COUNT]   Judges with every number, and draws each deviation map into the
//                                  capture's folder.
// Kinds: fresh; rounded (lip 4.5 mm); chipped (20 mm3 of the lip gone); polished (three quarters of
// the texture rubbed off around the lip's middle, no shape changed).
#include <Eigen/Geometry>
#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <exception>
#include <filesystem>
#include <map>
#include <numbers>
#include <random>
#include <string>
#include <vector>

#include "capture/mat_file.h"
#include "capture/rebuild.h"
#include "catalog/blob_store.h"
#include "catalog/wear.h"
#include "mesh/measure_shape.h"
#include "mesh/mesh_io.h"
#include "mesh/whole_file.h"
#include "tests/photobooth/booth.h"
#include "tests/photobooth/capture_truth.h"
#include "tests/shapes/holds.h"

namespace fs = std::filesystem;
using namespace holdshelf;
using Eigen::Vector3d;

namespace {

constexpr double kChunk_mm3 = 20;

struct Plan {
  std::string kind;
  unsigned seed;
};

/// The first is the baseline; rules were chosen on the next four; the others only judge, in an
/// order that leaves some of each kind wherever a run is stopped.
const std::vector<Plan>& plans() {
  static const std::vector<Plan> kPlans = {
      {"fresh", 1},    {"rounded", 2}, {"chipped", 3},   {"fresh", 4},    {"fresh", 5},
      {"chipped", 30}, {"fresh", 6},   {"polished", 50}, {"fresh", 7},    {"rounded", 40},
      {"fresh", 8},    {"fresh", 9},   {"chipped", 31},  {"fresh", 10},   {"fresh", 11},
      {"fresh", 12},   {"fresh", 13},  {"polished", 51}, {"fresh", 14},   {"fresh", 15},
      {"rounded", 41}, {"fresh", 16},  {"fresh", 17},    {"chipped", 32}, {"fresh", 18},
      {"fresh", 19},   {"fresh", 20},  {"fresh", 21},    {"fresh", 22},   {"fresh", 23},
      {"fresh", 24},   {"fresh", 25}};
  return kPlans;
}

constexpr std::size_t kTunedOn = 5;

fs::path placeOf(const fs::path& folder, const Plan& plan) {
  return folder / (plan.kind + "-" + std::to_string(plan.seed));
}

/// Where along the lip a capture's damage sits, so that captures judge different places.
double damage_x_mm(unsigned seed) { return seed < 10 ? 30 : seed % 2 == 0 ? -20 : 12; }

/// Where the lip's arc bulges most, a given way along the edge.
Vector3d lipPoint(const ExactHold& hold, double x_mm) {
  return hold.solid.project(Vector3d(x_mm, 24, hold.protrusion_mm));
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

ExactHold chipped(const ExactHold& hold, double x_mm) {
  const Vector3d lip = lipPoint(hold, x_mm), out = hold.solid.gradient(lip).normalized();
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

ExactHold holdOf(const Plan& plan) {
  EdgeSpec spec;
  if (plan.kind == "rounded") spec.lip_radius_mm += 0.5;
  const ExactHold hold = withBolt(edgeHold(spec), {});
  return plan.kind == "chipped" ? chipped(hold, damage_x_mm(plan.seed)) : hold;
}

void render(const fs::path& folder, const Plan& plan) {
  const fs::path place = placeOf(folder, plan);
  if (fs::exists(place / "photos")) return;
  std::mt19937 random(plan.seed);
  BoothOptions options;
  options.seed = options.stage.seed = options.mat.seed = plan.seed;
  options.mat.bend_mm = 0.5;
  options.rig.photos = 36;
  options.rig.seed = plan.seed;
  options.lens.samples = 4;
  options.stage.paint.albedo_bgr = colourNamed("red");
  const double angle_deg = std::uniform_real_distribution<double>(-40, 40)(random);
  const ExactHold hold = holdOf(plan);
  if (plan.kind == "polished") {
    const Eigen::AngleAxisd turn(angle_deg * std::numbers::pi / 180, Vector3d::UnitZ());
    options.stage.paint.polish = 0.75f;
    options.stage.paint.polish_at_mm =
        (turn * lipPoint(hold, damage_x_mm(plan.seed))).cast<float>();
  }
  fs::create_directories(place);
  photograph(turned(hold, angle_deg), options, place / "photos",
             [](const std::string&, double) { return true; });
  std::printf("%s photographed\n", place.filename().c_str());
  std::fflush(stdout);
}

void rebuildOne(const fs::path& folder, const Plan& plan) {
  const fs::path place = placeOf(folder, plan), photos = place / "photos";
  if (!fs::exists(photos) || fs::exists(place / "hold.ply")) return;
  const Rebuilt rebuilt = rebuild(photosIn(photos), readMat(photos / "mat.json"), {},
                                  [](const std::string&, double) { return true; });
  writeWhole(place / "hold.ply", withTexture(plyBytes(rebuilt.mesh), rebuilt.texture));
  std::printf("%s rebuilt\n", place.filename().c_str());
  std::fflush(stdout);
}

/// Whether a comparison says of a capture what it should: the damage it has, and no other.
bool right(const std::string& kind, const Wear& wear) {
  const bool hint = !wear.polish().spots().empty();
  if (hint != (kind == "polished")) return false;
  if (kind == "rounded") return wear.grade() == "rounded";
  if (kind == "chipped") return wear.grade() == "chipped";
  return wear.grade() == "none seen";
}

void printDetails(const ComparedScans& compared) {
  const Wear& wear = compared.wear;
  std::printf("  apart by %.3f mm (median), limit %.3f, gained at most %.1f mm3 and %.2f mm\n",
              wear.median_mm(), wear.detection_limit_mm(), compared.deviation.gained_mm3,
              compared.deviation.gained_mm);
  for (const LostChunk& c : wear.chunks())
    std::printf("  gone: %.1f +- %.1f mm3, %.2f mm deep, %.1f mm2 at %.1f %.1f %.1f\n",
                c.volume_mm3().value(), c.volume_mm3().sigma(), c.deepest_mm(), c.area_mm2(),
                c.x_mm(), c.y_mm(), c.z_mm());
  for (const LostPiece& c : compared.deviation.gained)
    if (c.volume_mm3.value() > 2)
      std::printf("  gained: %.1f mm3, %.2f mm, %.1f mm2 at %.1f %.1f %.1f\n", c.volume_mm3.value(),
                  c.deepest_mm, c.area_mm2, c.centre_mm.x(), c.centre_mm.y(), c.centre_mm.z());
  for (const LipChange& lip : wear.lips())
    if (lip.rotation_deg() <= 20 || lip.rotation_deg() >= 340)
      std::printf("  lip at %.0f: %+.2f +- %.2f mm%s, fits apart by %+.2f +- %.2f\n",
                  lip.rotation_deg(), lip.radius_growth_mm().value(),
                  lip.radius_growth_mm().sigma(), lip.sure() ? ", sure" : "",
                  lip.fitted_growth_mm().value(), lip.fitted_growth_mm().sigma());
  std::printf("  texture: %d cells, overall %.2f, limit %.2f %s\n", wear.polish().cells(),
              wear.polish().overall(), wear.polish().limit(), wear.polish().why_not().c_str());
}

/// Compares every rebuilt capture with the baseline: a line each, and how many came out right.
void judge(const fs::path& folder, const std::vector<Plan>& chosen, bool details) {
  const fs::path base = placeOf(folder, chosen.front());
  const TriangleMesh before = readMesh(base / "hold.ply");
  const Shape shape = measureShape(before);
  const TextureCells texture = textureIn(readFile(base / "hold.ply"));
  std::map<std::string, std::pair<int, int>> counts;  // Right, of all.
  for (std::size_t i = 1; i < chosen.size(); ++i) {
    const fs::path place = placeOf(folder, chosen[i]);
    if (!fs::exists(place / "hold.ply")) continue;
    const TextureCells now = textureIn(readFile(place / "hold.ply"));
    ComparedScans compared = compareInFull(before, shape, readMesh(place / "hold.ply"), {}, {},
                                           std::nullopt, {&texture, &now});
    compared.wear.set_hold(place.filename().string());
    const bool is_right = right(chosen[i].kind, compared.wear), tuned = i < kTunedOn;
    auto& [good, all] = counts[(tuned ? "tuned on, " : "judged, ") + chosen[i].kind];
    good += is_right ? 1 : 0;
    ++all;
    std::printf("%-9s %-5s %s\n", tuned ? "tuned on" : "judged", is_right ? "right" : "WRONG",
                wearText(compared.wear).c_str());
    if (details) {
      printDetails(compared);
      writeWhole(place / "wear.png", wearPlot(compared).png);
    }
    std::fflush(stdout);
  }
  for (const auto& [kind, count] : counts)
    std::printf("%s: %d of %d right\n", kind.c_str(), count.first, count.second);
}

}  // namespace

int main(int argc, char** argv) {
  try {
    const std::string what = argc > 2 ? argv[1] : "";
    const std::size_t count = argc > 3 ? std::strtoul(argv[3], nullptr, 10) : plans().size();
    const std::vector<Plan> chosen(
        plans().begin(),
        plans().begin() + static_cast<std::ptrdiff_t>(std::min(count, plans().size())));
    if (what == "photos" || what == "render" || what == "rebuild" || what == "judge") {
      for (const Plan& plan : chosen) {
        if (what == "photos" || what == "render") render(argv[2], plan);
        if (what == "photos" || what == "rebuild") rebuildOne(argv[2], plan);
      }
      if (what == "photos" || what == "judge") judge(argv[2], chosen, false);
    } else if (what == "table") {
      judge(argv[2], chosen, true);
    } else {
      std::fprintf(stderr, "usage: wear_bench photos|render|rebuild|judge|table DIR [COUNT]\n");
      return 2;
    }
  } catch (const std::exception& e) {
    std::fprintf(stderr, "wear_bench: %s\n", e.what());
    return 1;
  }
}
