// SPDX-License-Identifier: Apache-2.0
// Measures the measuring: how exact on the panel of exact holds, how fast on growing meshes.
//   measure_bench panel [CELL_MM]   the worst case of each quantity, as a table
//   measure_bench speed             time and memory of whole measurements, 72 rotations
//   measure_bench lips [CELL_MM]    lip radii under the roughness and blur of meshes from photos
//   measure_bench sections          the same sections by this library and by CGAL
#include <sys/resource.h>
#include <tbb/global_control.h>

#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <map>
#include <string>

#include "mesh/measure_shape.h"
#include "mesh/section.h"
#include "tests/cgal/reference.h"
#include "tests/shapes/panel.h"
#include "tests/shapes/roughen.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;

namespace {

double seconds() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

/// Processor time of all threads: what a busy machine cannot falsify.
double cpuSeconds() { return static_cast<double>(std::clock()) / CLOCKS_PER_SEC; }

int benchPanel(double cell_mm) {
  std::map<std::string, PanelCheck> worst;
  std::map<std::string, int> count, outside;
  std::size_t holds = 0;
  for (const ExactHold& hold : exactPanel()) {
    ++holds;
    const Shape shape =
        measureAtRotation(meshSdf(hold.solid, hold.box_mm, cell_mm), hold.edge_rotation_deg);
    for (const PanelCheck& check : checkShape(hold, shape)) {
      ++count[check.quantity];
      const double share = std::abs(check.error()) / check.tolerance();
      if (!(share <= 1))
        std::fprintf(stderr, "%s: %s is %.3f for %.3f\n", check.hold.c_str(),
                     check.quantity.c_str(), check.measured, check.truth);
      outside[check.quantity] += !(share <= 1);
      const auto at = worst.find(check.quantity);
      if (at == worst.end() || !(std::abs(at->second.error()) / at->second.tolerance() >= share))
        worst[check.quantity] = check;
    }
  }
  std::printf("%zu exact holds, meshes of %.2g mm resolution\n\n", holds, cell_mm);
  std::printf(
      "| quantity | checks | worst error | allowed | at | out of tolerance "
      "|\n|---|---|---|---|---|---|\n");
  for (const auto& [quantity, check] : worst)
    std::printf("| %s | %d | %+.3f | %.3f | %s (%.4g) | %d |\n", quantity.c_str(), count[quantity],
                check.error(), check.tolerance(), check.hold.c_str(), check.truth,
                outside[quantity]);
  return 0;
}

long peak_MiB() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return usage.ru_maxrss / 1024;
}

int benchSpeed() {
  const tbb::global_control two(tbb::global_control::max_allowed_parallelism, 2);
  const ExactHold hold = holdNamed("edge");
  std::printf(
      "| triangles | time, s | processor time, s | us of it a triangle | peak memory, MiB |\n"
      "|---|---|---|---|---|\n");
  for (double cell : {1.08, 0.54, 0.34, 0.242, 0.171, 0.108}) {
    const TriangleMesh mesh = meshSdf(hold.solid, hold.box_mm, cell);
    double best = 1e9, cpu = 1e9;
    for (int i = 0; i < 3; ++i) {
      const double start = seconds(), cpu_start = cpuSeconds();
      measureShape(mesh);
      best = std::min(best, seconds() - start);
      cpu = std::min(cpu, cpuSeconds() - cpu_start);
    }
    const auto n = static_cast<double>(mesh.triangles.size());
    std::printf("| %zu | %.2f | %.2f | %.1f | %ld |\n", mesh.triangles.size(), best, cpu,
                1e6 * cpu / n, peak_MiB());
    std::fflush(stdout);
  }
  return 0;
}

/// Mean and scatter of a quantity's error over trials, and what was stated for it.
struct ErrorTally {
  int count = 0;
  int inside = 0;  ///< Within twice the stated uncertainty.
  double sum = 0, squares = 0, stated = 0;
  void add(const Measured& m, double truth) {
    const double error = m.value() - truth;
    ++count;
    inside += std::abs(error) <= 2 * m.sigma();
    sum += error;
    squares += error * error;
    stated += m.sigma();
  }
  double mean() const { return sum / count; }
  double scatter() const { return std::sqrt(std::max(0.0, squares / count - mean() * mean())); }
};

int benchLips(double cell_mm) {
  std::printf(
      "Of each: mean error, scatter, stated uncertainty, share within twice that.\n\n| lip, depth, "
      "incut | roughness | blur | trials | lip radius, mm | edge depth, mm | incut, degrees "
      "|\n|---|---|---|---|---|---|---|\n");
  for (const auto& [radius, depth, incut] : {std::tuple<double, double, double>{1.5, 6, 0},
                                             {1.5, 8, 0},
                                             {2, 15, 10},
                                             {3, 12, -15},
                                             {4, 20, 8},
                                             {5, 20, 0},
                                             {8, 30, 15},
                                             {12, 34, -45},
                                             {16, 30, 0}}) {
    EdgeSpec spec;
    spec.depth_mm = depth, spec.lip_radius_mm = radius, spec.incut_deg = incut;
    spec.width_mm = 50, spec.end_blend_mm = 0, spec.root_radius_mm = std::min(2.0, depth / 5);
    spec.protrusion_mm = depth + (depth < 10 ? 3 : incut < -30 ? 4 : 8);
    spec.front_mm = 36, spec.lip_y_mm = 18;
    const ExactHold hold = edgeHold(spec);
    const TriangleMesh exact = meshSdf(hold.solid, hold.box_mm, cell_mm);
    for (const auto& [sigma, blur] :
         {std::pair<double, double>{0, 0}, {0.05, 0}, {0.1, 0}, {0.05, 0.5}, {0.1, 0.7}}) {
      ErrorTally r, d, i;
      int sharp = 0;
      const int trials = sigma > 0 ? 12 : 1;
      for (int trial = 0; trial < trials; ++trial) {
        const TriangleMesh mesh =
            roughened(exact, {sigma, 0.7, blur, static_cast<std::uint32_t>(100 + trial)});
        const Shape shape = measureAtRotation(mesh, 0);
        if (shape.grips_size() == 0) continue;
        const Grip& grip = shape.grips(0);
        sharp += grip.lip_sharp();
        r.add(grip.lip_radius_mm(), radius);
        d.add(grip.edge_depth_mm(), depth);
        i.add(grip.incut_deg(), incut);
      }
      std::printf("| %g, %g, %g | %.2f | %.1f | %d%s |", radius, depth, incut, sigma, blur, r.count,
                  sharp ? " (some sharp)" : "");
      for (const ErrorTally* t : {&r, &d, &i})
        std::printf(" %+.2f %.2f %.2f %.0f %% |", t->mean(), t->scatter(), t->stated / t->count,
                    100.0 * t->inside / t->count);
      std::printf("\n");
      std::fflush(stdout);
    }
  }
  return 0;
}

int benchSections() {
  const tbb::global_control one(tbb::global_control::max_allowed_parallelism, 1);
  const ExactHold hold = holdNamed("edge");
  const TriangleMesh mesh = meshSdf(hold.solid, hold.box_mm, 0.54);
  PlaneFamily planes = pullPlanes(30);
  planes.first_mm = -40;
  planes.count = 80;
  double start = cpuSeconds();
  const MeshTopology topology = buildTopology(mesh);
  SectionCutter cutter(mesh, topology);
  double length = 0;
  cutter.cut(planes, [&](int, const SectionLines& lines) {
    for (const SectionLine& line : lines)
      for (std::size_t i = 0; i + (line.closed ? 0 : 1) < line.points.size(); ++i)
        length += (line.points[(i + 1) % line.points.size()].at_mm - line.points[i].at_mm).norm();
  });
  const double ours = cpuSeconds() - start;
  start = cpuSeconds();
  double cgal_length = 0;
  for (double l : cgal::sliceLengths(mesh, planes)) cgal_length += l;
  const double theirs = cpuSeconds() - start;
  std::printf(
      "80 sections of %zu triangles, one thread, structures built each time\n\n| | processor time, "
      "ms | "
      "length of all lines, mm |\n|---|---|---|\n",
      mesh.triangles.size());
  std::printf("| Holdshelf | %.0f | %.6f |\n| CGAL Polygon_mesh_slicer | %.0f | %.6f |\n",
              1e3 * ours, length, 1e3 * theirs, cgal_length);
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  const std::string what = argc > 1 ? argv[1] : "";
  if (what == "panel") return benchPanel(argc > 2 ? std::atof(argv[2]) : 0.5);
  if (what == "speed") return benchSpeed();
  if (what == "lips") return benchLips(argc > 2 ? std::atof(argv[2]) : 0.7);
  if (what == "sections") return benchSections();
  std::fprintf(stderr, "measure_bench: give panel, speed, lips or sections.\n");
  return 2;
}
