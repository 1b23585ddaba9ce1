// SPDX-License-Identifier: Apache-2.0
// dimensions_bench [--list] CAPTURE_DIR MESH.ply REPORT.json [CAPTURE_DIR ...]: dimensions measured
// on rebuilt photobooth captures beside the same measured on the exact shape's own fine mesh (good
// to 0.02 mm, see measure_bench panel), rotation by rotation, and beside what each states.
//
// An edge counts where both meshes have it at that rotation, the lips at most 2 mm apart, at least
// 4 mm deep and no guesswork in it. One capture's rotations are far from independent.
//
// Limit: what precisionLimit_mm allows single points, propagated: two points for lengths (root 2),
// two points a contact's length apart for the incut, and for the radius the sagitta of three points
// over the arc's sweep w: root(3/2) / (1 - cos(w / 2)). The ratio is that of medians of |error|.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <exception>
#include <map>
#include <string>
#include <vector>

#include "mesh/measure_shape.h"
#include "mesh/mesh_io.h"
#include "tests/photobooth/capture_truth.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

struct Checked {
  double error, stated, limit;
};
using Table = std::map<std::string, std::vector<Checked>>;

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

/// The exact shape's mesh, turned and moved in the wall plane to where the rebuild has it: heights
/// stay its own, as the rebuild's wall plane is one of the things to be judged.
TriangleMesh truthInPlace(const ExactHold& hold, const CaptureReport& report) {
  const Eigen::Isometry3d T = truthFromReport(report).inverse();
  const Eigen::AngleAxisd yaw(std::atan2(T.linear()(1, 0), T.linear()(0, 0)), Vector3d::UnitZ());
  TriangleMesh mesh = meshSdf(hold.solid, hold.box_mm, 0.4);
  for (Vector3d& p : mesh.vertices_mm)
    p = yaw * p + Vector3d(T.translation().x(), T.translation().y(), 0);
  return mesh;
}

/// The sheet of radii that a target names.
std::string radiusName(double radius) {
  return radius < 4   ? "lip radius under 4 mm"
         : radius < 8 ? "lip radius 4 to 8 mm"
                      : "lip radius over 8 mm";
}

void compareGrips(const Grip& seen, const Grip& exact, double limit, bool list, Table& table) {
  const double root2 = std::sqrt(2.0);
  const auto add = [&](const std::string& name, const Measured& a, const Measured& b, double lim) {
    table[name].push_back({a.value() - b.value(), a.sigma(), lim});
  };
  add("edge depth", seen.edge_depth_mm(), exact.edge_depth_mm(), root2 * limit);
  if (exact.contact_mm() > 3)
    add("incut, degrees", seen.incut_deg(), exact.incut_deg(),
        root2 * limit / exact.contact_mm() * 180 / M_PI);
  if (!exact.lip_sharp() && exact.lip_radius_mm().value() < 25) {
    const double sweep = exact.lip_sweep_deg() * M_PI / 180;
    add(radiusName(exact.lip_radius_mm().value()), seen.lip_radius_mm(), exact.lip_radius_mm(),
        std::sqrt(1.5) * limit / (1 - std::cos(sweep / 2)));
  }
  if (list) {
    const auto cell = [](const char* name, const Measured& a, const Measured& b) {
      std::printf("  %s %+.3f +- %.3f of %.2f", name, a.value() - b.value(), a.sigma(), b.value());
    };
    std::printf("  %3.0f deg", exact.rotation_deg());
    cell("depth", seen.edge_depth_mm(), exact.edge_depth_mm());
    cell("incut", seen.incut_deg(), exact.incut_deg());
    cell("radius", seen.lip_radius_mm(), exact.lip_radius_mm());
    std::printf("  sweep %.0f\n", exact.lip_sweep_deg());
  }
}

void compare(const std::string& folder, const std::string& mesh_path,
             const std::string& report_path, bool list, Table& table) {
  const ExactHold hold = holdNamed(shapeInCapture(folder));
  const CaptureReport report = readReport(report_path);
  const double limit = precisionLimit_mm(report);
  const Shape seen = measureShape(readMesh(mesh_path));
  const TriangleMesh exact_mesh = truthInPlace(hold, report);
  const Shape exact = measureShape(exact_mesh);
  const PreparedHold prepared(exact_mesh);
  if (list) std::printf("%s\n", folder.c_str());
  table["protrusion"].push_back({seen.protrusion_mm().value() - exact.protrusion_mm().value(),
                                 seen.protrusion_mm().sigma(), std::sqrt(2.0) * limit});
  if (seen.bolt_seats_size() == 1 && exact.bolt_seats_size() == 1)
    table["seat height"].push_back(
        {seen.bolt_seats(0).seat_height_mm().value() - exact.bolt_seats(0).seat_height_mm().value(),
         seen.bolt_seats(0).seat_height_mm().sigma(), std::sqrt(2.0) * limit});
  for (const Grip& grip : seen.grips()) {
    const Shape beside = prepared.at(grip.rotation_deg(), grip.offset_mm());
    if (beside.grips_size() != 1 || grip.guesswork_share() > 0.02) continue;
    const Grip& other = beside.grips(0);
    if (other.edge_depth_mm().value() < 4 || std::abs(other.offset_mm() - grip.offset_mm()) > 1 ||
        std::hypot(other.lip_height_mm() - grip.lip_height_mm(),
                   other.lip_z_mm() - grip.lip_z_mm()) > 2)
      continue;
    compareGrips(grip, other, limit, list, table);
  }
}

void print(const Table& table) {
  std::printf(
      "| quantity | checks | error, median / 95 %% / most | limit, median | ratio | stated, median "
      "| "
      "within 1, 2 |\n|---|---|---|---|---|---|---|\n");
  for (const auto& [name, checks] : table) {
    std::vector<double> errors, limits, stated;
    double within1 = 0, within2 = 0;
    for (const Checked& c : checks) {
      errors.push_back(std::abs(c.error));
      limits.push_back(0.674 * c.limit);
      stated.push_back(c.stated);
      within1 += std::abs(c.error) <= c.stated;
      within2 += std::abs(c.error) <= 2 * c.stated;
    }
    std::sort(errors.begin(), errors.end());
    const double n = static_cast<double>(checks.size());
    std::printf("| %s | %zu | %.3f / %.3f / %.3f | %.3f | %.0f | %.3f | %.0f, %.0f %% |\n",
                name.c_str(), checks.size(), median(errors),
                errors[static_cast<std::size_t>(0.95 * (n - 1))], errors.back(), median(limits),
                median(errors) / median(limits), median(stated), 100 * within1 / n,
                100 * within2 / n);
  }
}

}  // namespace

int main(int argc, char** argv) {
  const bool list = argc > 1 && std::strcmp(argv[1], "--list") == 0;
  const int first = list ? 2 : 1;
  if (argc < first + 3 || (argc - first) % 3 != 0) {
    std::fprintf(stderr,
                 "usage: dimensions_bench [--list] CAPTURE_DIR MESH.ply REPORT.json [...]\n");
    return 2;
  }
  try {
    Table table;
    for (int i = first; i + 2 < argc; i += 3)
      compare(argv[i], argv[i + 1], argv[i + 2], list, table);
    print(table);
  } catch (const std::exception& e) {
    std::fprintf(stderr, "dimensions_bench: %s\n", e.what());
    return 1;
  }
}
