// SPDX-License-Identifier: Apache-2.0
// What must hold for any measurement, whatever the hold: it does not depend on where the mesh lies,
// how its triangles are laid, nor on noise beyond what it states.
#include <doctest/doctest.h>

#include <Eigen/Geometry>
#include <cmath>
#include <map>
#include <random>

#include "mesh/hold_frame.h"
#include "mesh/measure_shape.h"
#include "mesh/mesh_topology.h"
#include "mesh/repair.h"
#include "tests/mesh/coverage_tally.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

TriangleMesh meshOf(const ExactHold& hold, double cell) {
  return meshSdf(hold.solid, hold.box_mm, cell);
}

/// Every number of a shape that was measured at one rotation, by name.
std::map<std::string, Measured> numbersOf(const Shape& s, bool with_pinch = false) {
  std::map<std::string, Measured> out = {
      {"protrusion", s.protrusion_mm()},           {"footprint area", s.footprint_area_mm2()},
      {"footprint width", s.footprint_width_mm()}, {"footprint height", s.footprint_height_mm()},
      {"longest extent", s.longest_extent_mm()},   {"volume", s.volume_mm3()},
      {"surface area", s.surface_area_mm2()}};
  if (s.grips_size() > 0) {
    out["edge depth"] = s.grips(0).edge_depth_mm();
    out["edge along"] = s.grips(0).edge_along_mm();
    out["lip radius"] = s.grips(0).lip_radius_mm();
    out["incut"] = s.grips(0).incut_deg();
    out["edge width"] = s.grips(0).edge_width_mm();
  }
  if (s.bolt_seats_size() > 0) {
    out["seat height"] = s.bolt_seats(0).seat_height_mm();
    out["bore"] = s.bolt_seats(0).bore_mm();
    out["recess"] = s.bolt_seats(0).recess_mm();
  }
  if (s.pockets_size() > 0) {
    out["pocket width"] = s.pockets(0).width_mm();
    out["pocket height"] = s.pockets(0).height_mm();
    out["pocket depth"] = s.pockets(0).depth_mm();
  }
  // Where several directions close on much the same faces, which of them is told may change.
  for (const Pinch& p : s.pinches())
    if (with_pinch && std::abs(std::remainder(p.direction_deg(), 180)) < 1 &&
        !out.contains("pinch width")) {
      out["pinch width"] = p.width_mm();
      out["pinch taper"] = p.taper_deg();
      out["pinch height"] = p.height_mm();
      out["pinch length"] = p.length_mm();
    }
  return out;
}

/// Each triangle in four by its edges' middles: the same surface.
TriangleMesh refined(const TriangleMesh& mesh) {
  TriangleMesh out;
  out.vertices_mm = mesh.vertices_mm;
  std::map<std::pair<int, int>, int> middle;
  const auto between = [&](int a, int b) {
    const auto [at, fresh] = middle.try_emplace(std::minmax(a, b), 0);
    if (fresh) {
      at->second = static_cast<int>(out.vertices_mm.size());
      out.vertices_mm.emplace_back(0.5 * (mesh.vertices_mm[a] + mesh.vertices_mm[b]));
    }
    return at->second;
  };
  for (const auto& t : mesh.triangles) {
    const int a = between(t[0], t[1]), b = between(t[1], t[2]), c = between(t[2], t[0]);
    for (const auto& n : {Eigen::Vector3i(t[0], a, c), Eigen::Vector3i(a, t[1], b),
                          Eigen::Vector3i(c, b, t[2]), Eigen::Vector3i(a, b, c)})
      out.triangles.push_back(n);
  }
  return out;
}

/// The same surface's vertices joined otherwise: every second flat pair of triangles has its
/// diagonal changed, and vertices and triangles stand in another order.
TriangleMesh retriangulated(const TriangleMesh& mesh, std::uint32_t seed) {
  TriangleMesh out = mesh;
  const MeshTopology topology = buildTopology(mesh);
  std::vector<bool> used(mesh.triangles.size(), false);
  std::mt19937 random(seed);
  for (std::size_t h = 0; h < topology.across.size(); ++h) {
    const int across = topology.across[h];
    const auto i = h / 3, j = static_cast<std::size_t>(across / 3);
    if (across < 0 || used[i] || used[j] || random() % 2 == 0) continue;
    const auto &s = mesh.triangles[i], &t = mesh.triangles[j];
    const int a = s[h % 3], b = s[(h + 1) % 3], c = s[(h + 2) % 3], d = t[(across % 3 + 2) % 3];
    const auto p = [&](int v) { return mesh.vertices_mm[v]; };
    const Vector3d n = (p(b) - p(a)).cross(p(c) - p(a)), m = (p(a) - p(b)).cross(p(d) - p(b));
    const Vector3d u = (p(d) - p(a)).cross(p(c) - p(a)), v = (p(c) - p(b)).cross(p(d) - p(b));
    if (n.normalized().dot(m.normalized()) < 0.9999 || u.dot(n) <= 0.2 * n.squaredNorm() ||
        v.dot(n) <= 0.2 * n.squaredNorm())
      continue;
    used[i] = used[j] = true;
    out.triangles[i] = {a, d, c};
    out.triangles[j] = {b, c, d};
  }
  std::vector<int> order(mesh.vertices_mm.size());
  for (std::size_t k = 0; k < order.size(); ++k) order[k] = static_cast<int>(k);
  std::shuffle(order.begin(), order.end(), random);
  for (std::size_t k = 0; k < order.size(); ++k) out.vertices_mm[order[k]] = mesh.vertices_mm[k];
  for (auto& t : out.triangles) t = {order[t[1]], order[t[2]], order[t[0]]};
  std::shuffle(out.triangles.begin(), out.triangles.end(), random);
  return out;
}

void checkSame(const Shape& a, const Shape& b, double of_sigma, double at_least,
               bool with_pinch = false) {
  const auto first = numbersOf(a, with_pinch), second = numbersOf(b, with_pinch);
  REQUIRE(first.size() == second.size());
  for (const auto& [name, m] : first) {
    INFO(name);
    REQUIRE(second.contains(name));
    CHECK(std::abs(second.at(name).value() - m.value()) <=
          std::max(of_sigma * m.sigma(), at_least * std::abs(m.value())));
  }
}

}  // namespace

TEST_CASE("Another triangulation and another order of the same surface: the same numbers") {
  for (const char* name : {"edge", "pinch", "pocket"}) {
    INFO(name);
    const TriangleMesh mesh = meshOf(holdNamed(name), 0.7);
    checkSame(measureAtRotation(mesh, 0), measureAtRotation(retriangulated(mesh, 3), 0), 1, 1e-9,
              name == std::string("pinch"));
  }
}

TEST_CASE("Four triangles for one on the same surface: the same numbers") {
  for (const char* name : {"edge", "pinch", "pocket", "jug"}) {
    INFO(name);
    const TriangleMesh mesh = meshOf(holdNamed(name), 1);
    checkSame(measureAtRotation(mesh, 0), measureAtRotation(refined(mesh), 0), 2, 1e-9,
              name == std::string("pinch"));
  }
}

TEST_CASE("A mesh that lies anywhere comes back to the same numbers") {
  const ExactHold hold = holdNamed("edge");
  const TriangleMesh mesh = meshOf(hold, 0.8);
  const Shape still = measureAtRotation(mesh, 0);
  Eigen::Isometry3d away = Eigen::Isometry3d::Identity();
  away.translate(Vector3d(210, -90, 40));
  away.rotate(Eigen::AngleAxisd(2.1, Vector3d(1, 0.4, -0.3).normalized()));
  const TriangleMesh lost = moved(mesh, away);
  const HoldFrame frame = findHoldFrame(lost);
  // How it is turned about the bolt is not known from the mesh: --up says it.
  const Vector3d up = frame.T_hold_mesh.linear() * away.linear() * Vector3d::UnitY();
  const double turned = std::atan2(-up.x(), up.y()) * 180 / M_PI;
  const Shape found =
      measureAtRotation(moved(lost, findHoldFrame(lost, {.up_deg = turned}).T_hold_mesh), 0);
  checkSame(still, found, 2, 5e-4);
}

TEST_CASE("Damaged meshes are repaired and measured, or refused with a sentence") {
  const ExactHold hold = holdNamed("edge");
  const TriangleMesh whole = meshOf(hold, 1.5);
  std::mt19937 random(9);
  std::uniform_real_distribution<double> share(0, 1);
  std::normal_distribution<double> jitter(0, 0.15);
  int measured = 0;
  for (int trial = 0; trial < 16; ++trial) {
    CAPTURE(trial);
    TriangleMesh mesh = whole;
    const double lost = 0.004 * (trial % 4) * (trial % 4), turned = 0.01 * (trial / 4);
    std::erase_if(mesh.triangles, [&](const auto&) { return share(random) < lost; });
    for (auto& t : mesh.triangles)
      if (share(random) < turned) std::swap(t[0], t[1]);
    for (auto& v : mesh.vertices_mm)
      if (v.z() > 0.05) v += Vector3d(jitter(random), jitter(random), jitter(random));
    for (int k = 0; k < 30; ++k) {  // Triangles that stick out of the surface.
      const auto pick = [&] { return static_cast<int>(random() % mesh.vertices_mm.size()); };
      if (trial % 2)
        mesh.triangles.emplace_back(mesh.triangles[k][0], mesh.triangles[k][1], pick());
    }
    try {
      const Repaired repaired = repairMesh(mesh);
      if (lost > 0 || turned > 0) CHECK_FALSE(repaired.notes.empty());
      const Shape shape = measureAtRotation(repaired.mesh, 0);
      REQUIRE(shape.grips_size() == 1);
      CHECK(std::abs(shape.grips(0).edge_depth_mm().value() - 20) < 1);
      CHECK(std::abs(shape.protrusion_mm().value() - 38) < 1);
      ++measured;
    } catch (const BadInput& error) {
      CHECK(std::string(error.what()).back() == '.');
    }
  }
  CHECK(measured >= 12);
}

TEST_CASE("Coverage: noise moves no number by more than its stated uncertainty predicts") {
  std::mt19937 random(77);
  const double sigma = 0.06;
  std::map<std::string, CoverageTally> tallies;
  for (const char* name : {"edge", "pinch", "pocket"}) {
    const TriangleMesh exact = meshOf(holdNamed(name), 0.7);
    const bool pinch = name == std::string("pinch");
    const auto truth = numbersOf(measureAtRotation(exact, 0), pinch);
    for (int trial = 0; trial < 12; ++trial) {
      const auto measured =
          numbersOf(measureAtRotation(withNoise(exact, sigma, trial, random), 0), pinch);
      for (const auto& [quantity, m] : truth) {
        INFO(name);
        INFO(quantity);
        REQUIRE(measured.contains(quantity));
        const Measured& n = measured.at(quantity);
        CHECK(n.sigma() > 0);
        tallies[std::string(name) + ", " + quantity].add(n, m.value());
      }
    }
  }
  // Two sigma hold 95 % of a normal law: of 12, 9 or fewer have a chance of 2 %.
  for (const auto& [quantity, tally] : tallies) {
    INFO(quantity);
    CAPTURE(tally.rms());
    CHECK(tally.inside >= 10);
  }
}
