// SPDX-License-Identifier: Apache-2.0
// Cross-checks against CGAL 5.5 on open meshes (testdata/meshes/README.md) and analytic solids.
#include <doctest/doctest.h>

#include <Eigen/Geometry>
#include <array>
#include <cmath>
#include <random>

#include "mesh/mass.h"
#include "mesh/mesh_io.h"
#include "mesh/ray_scene.h"
#include "mesh/repair.h"
#include "mesh/section.h"
#include "tests/cgal/reference.h"
#include "tests/shapes/sdf.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;

namespace {

std::vector<std::pair<std::string, TriangleMesh>> subjects() {
  std::vector<std::pair<std::string, TriangleMesh>> out;
  for (const char* file : {"bunny.ply", "block.stl", "lever.stl", "object.stl", "t13_data.stl"}) {
    const auto path = std::filesystem::path(HOLDSHELF_SOURCE_DIR) / "testdata/meshes" / file;
    out.emplace_back(file, repairMesh(readMesh(path)).mesh);
  }
  const Eigen::AlignedBox3d box(Eigen::Vector3d(-66, -66, -41), Eigen::Vector3d(66, 66, 41));
  out.emplace_back("torus", meshSdf(torus(50, 15), box, 2));
  out.emplace_back("sphere", meshSdf(sphere(40), box, 2));
  out.emplace_back("box", meshSdf(holdshelf::box({50, 30, 20}), box, 3));
  return out;
}

double sizeOf(const TriangleMesh& mesh) {
  Eigen::AlignedBox3d box;
  for (const auto& v : mesh.vertices_mm) box.extend(v);
  return box.diagonal().norm();
}

}  // namespace

TEST_CASE("CGAL agrees about area, and about volume where a mesh is closed") {
  int closed = 0;
  for (const auto& [name, mesh] : subjects()) {
    CAPTURE(name);
    const MassProperties mass = massProperties(mesh);
    CHECK(mass.area_mm2 == doctest::Approx(cgal::area_mm2(mesh)).epsilon(1e-9));
    if (!isWatertight(mesh)) continue;
    ++closed;
    CHECK(mass.volume_mm3 == doctest::Approx(cgal::volume_mm3(mesh)).epsilon(1e-9));
  }
  CHECK(closed >= 8);  // All of them, once repaired.
}

TEST_CASE("CGAL agrees about the length of sections in every direction") {
  for (const auto& [name, mesh] : subjects()) {
    const MeshTopology topology = buildTopology(mesh);
    SectionCutter cutter(mesh, topology);
    for (int direction = 0; direction < 6; ++direction) {
      CAPTURE(name);
      CAPTURE(direction);
      // Three pulls, then three directions askew to all axes.
      PlaneFamily planes = pullPlanes(std::array{0.0, 37.0, 90.0}[direction % 3]);
      if (direction >= 3) {
        const Eigen::Matrix3d askew =
            Eigen::AngleAxisd(0.7 + direction, Eigen::Vector3d(1, -2, direction).normalized())
                .toRotationMatrix();
        for (Eigen::Vector3d* axis : {&planes.right, &planes.up, &planes.normal})
          *axis = askew * *axis;
      }
      const double size = sizeOf(mesh);
      Eigen::Vector3d middle = Eigen::Vector3d::Zero();
      for (const auto& v : mesh.vertices_mm) middle += v;
      middle /= static_cast<double>(mesh.vertices_mm.size());
      // Off the round numbers on which whole faces of such parts lie.
      planes.first_mm = planes.normal.dot(middle) - 0.2317 * size;
      planes.step_mm = 0.0513 * size;
      planes.count = 9;
      const std::vector<double> theirs = cgal::sliceLengths(mesh, planes);
      double total = 0;
      cutter.cut(planes, [&](int k, const SectionLines& lines) {
        double length = 0;
        for (const SectionLine& line : lines)
          for (std::size_t i = 0; i + (line.closed ? 0 : 1) < line.points.size(); ++i)
            length +=
                (line.points[(i + 1) % line.points.size()].at_mm - line.points[i].at_mm).norm();
        CHECK(std::abs(length - theirs[static_cast<std::size_t>(k)]) < 1e-6 * size);
        total += length;
      });
      CHECK(total > 0);
    }
  }
}

TEST_CASE("CGAL agrees about closest-point distances") {
  std::mt19937 random(4);
  for (const auto& [name, mesh] : subjects()) {
    CAPTURE(name);
    const double size = sizeOf(mesh);
    std::uniform_real_distribution<double> around(-0.7 * size, 0.7 * size);
    std::vector<Eigen::Vector3d> points;
    for (int i = 0; i < 200; ++i)
      points.emplace_back(around(random), around(random), around(random));
    const std::vector<double> theirs = cgal::distances(mesh, points);
    const RayScene scene(mesh);
    for (std::size_t i = 0; i < points.size(); ++i)
      CHECK(std::abs(scene.closestPoint(points[i])->distance_mm - theirs[i]) < 1e-4 * size);
  }
}
