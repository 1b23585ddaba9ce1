// SPDX-License-Identifier: Apache-2.0
// How surely twins are found: twins_bench [SCANS] [SEED] [FAMILIES] [PAIRS.csv]
// SCANS (1000) scans of different parametric holds at random rotations and places, among them for
// every ninth hold a copy, a mirror image and another size. A scan has noise that neighbours share,
// noise of each vertex, two holes that
// were closed flat, and 5 % of its surface worn by half a millimetre.
// FAMILIES: "plain" (edges, pinches, pockets, one or two numbers apart: what thresholds were chosen
// on) or "rich" (bowls, mounds, fins and joined pieces with bumps: only judged).
// Prints recall and precision over pairs, and the time; PAIRS.csv gets every pair that was laid on
// each other, to choose thresholds by.
#include <unistd.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <numbers>
#include <random>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

#include "catalog/library.h"
#include "catalog/twins.h"
#include "mesh/mesh_io.h"
#include "mesh/repair.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/roughen.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

struct Bench {
  std::mt19937 random;

  double between(double from, double to) {
    return std::uniform_real_distribution<double>(from, to)(random);
  }

  EdgeSpec edge() {
    EdgeSpec spec;
    spec.depth_mm = between(10, 30);
    spec.lip_radius_mm = between(2, 6);
    spec.incut_deg = between(-20, 20);
    spec.width_mm = between(50, 130);
    spec.protrusion_mm = spec.depth_mm + between(12, 25);
    return spec;
  }

  /// No caps of spheres: up to size they differ in one number only, so that among a hundred drawn
  /// ones several are one shape.
  ExactHold plain() {
    switch (random() % 3) {
      case 0:
        return edgeHold(edge());
      case 1:
        return pinchHold(between(20, 45), between(5, 35), between(30, 60), between(50, 110),
                         between(3, 8));
      default:
        return pocketHold(between(22, 60), between(18, 30), between(12, 28), between(2, 5));
    }
  }

  /// Families that no threshold was chosen on.
  ExactHold rich() {
    ExactHold hold = domeHold(between(40, 75), between(25, 38));
    switch (random() % 4) {
      case 0:  // A bowl: a mound with a dent behind its crest.
        hold.solid =
            subtract(hold.solid,
                     translate(sphere(between(12, 22)), {between(-12, 12), between(4, 16), 36}), 6);
        break;
      case 1: {  // Two pieces that grew together.
        const double away = between(10, 25);
        hold.solid = unite(hold.solid,
                           translate(roundedBox({between(10, 25), between(10, 25), between(20, 32)},
                                                between(4, 9)),
                                     {away, between(-15, 15), 0}),
                           8);
        break;
      }
      case 2:  // A bar over a mound.
        hold.solid =
            unite(hold.solid,
                  capsule({-between(15, 45), between(-10, 10), between(14, 28)},
                          {between(15, 45), between(-10, 10), between(14, 28)}, between(9, 15)),
                  10);
        break;
      default: {  // A ledge of its own.
        EdgeSpec spec = edge();
        spec.front_mm = between(30, 55);
        hold = edgeHold(spec);
      }
    }
    // Bumps on a solid that goes on below the wall, so that its back stays flat.
    const Sdf above = hold.solid;
    const Sdf deep(
        [above](const Vector3d& p) { return above(Vector3d(p.x(), p.y(), std::max(p.z(), 0.5))); });
    hold.solid = intersect(bumps(deep, between(0.8, 2), between(32, 60), random()),
                           halfSpace(-Vector3d::UnitZ(), 0));
    hold.box_mm.extend(hold.box_mm.min() - Vector3d(50, 50, 0));
    hold.box_mm.extend(hold.box_mm.max() + Vector3d(50, 50, 30));
    return hold;
  }

  /// Some drawn numbers make no solid (arcs that overlap): those are drawn again.
  ExactHold hold(bool of_rich) {
    for (;;) try {
        return of_rich ? rich() : plain();
      } catch (const std::invalid_argument&) {
      }
  }

  /// Material gone from around one spot, half a millimetre deep, about 5 % of the surface.
  void wear(TriangleMesh& mesh) {
    const auto normals = vertexNormals(mesh);
    const Vector3d spot = mesh.vertices_mm[random() % mesh.vertices_mm.size()];
    std::vector<double> away;
    for (const Vector3d& v : mesh.vertices_mm) away.push_back((v - spot).norm());
    std::vector<double> sorted = away;
    const auto share = sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 20);
    std::nth_element(sorted.begin(), share, sorted.end());
    for (std::size_t i = 0; i < away.size(); ++i)
      if (away[i] < *share && mesh.vertices_mm[i].z() > 1) mesh.vertices_mm[i] -= 0.5 * normals[i];
  }

  void pierce(TriangleMesh& mesh, double radius_mm) {
    const Vector3d spot = mesh.vertices_mm[random() % mesh.vertices_mm.size()];
    std::erase_if(mesh.triangles, [&](const auto& t) {
      return (mesh.vertices_mm[static_cast<std::size_t>(t[0])] - spot).norm() < radius_mm;
    });
  }

  TriangleMesh scan(TriangleMesh mesh, bool mirrored, double scale) {
    const Eigen::Matrix3d R =
        Eigen::AngleAxisd(between(0, 2 * std::numbers::pi), Vector3d::UnitZ()).toRotationMatrix();
    const Vector3d shift(between(-20, 20), between(-20, 20), 0);
    wear(mesh);
    for (Vector3d& v : mesh.vertices_mm) {
      if (mirrored) v.x() = -v.x();
      v = R * (scale * v) + shift;
    }
    if (mirrored)
      for (auto& triangle : mesh.triangles) std::swap(triangle[1], triangle[2]);
    mesh = roughened(mesh, {0.06, 6, 0, static_cast<std::uint32_t>(random())});
    std::normal_distribution<double> noise(0, 0.08);
    for (Vector3d& v : mesh.vertices_mm) v += Vector3d(noise(random), noise(random), noise(random));
    pierce(mesh, 5);
    pierce(mesh, 4);
    return repairMesh(mesh).mesh;
  }
};

void store(Library& library, const std::string& id, const TriangleMesh& mesh) {
  const Signature signature = signatureOf(mesh);
  const PackedSignature packed = packSignature(signature);
  Event made, scanned;
  made.set_hold(id);
  made.mutable_created()->set_status(SHELF);
  scanned.set_hold(id);
  Scan& scan = *scanned.mutable_scanned();
  scan.set_id(id);
  scan.set_mesh_blob(library.blobs().put(plyBytes(mesh)));
  scan.set_signature(packed.data(), packed.size());
  scan.set_size_mm(signature.size_mm);
  library.commit({made, scanned});
}

using Pair = std::pair<std::string, std::string>;

/// Fills the library; returns the planted pairs.
std::vector<Pair> fill(Library& library, int scans, unsigned seed, bool rich) {
  Bench bench{std::mt19937(seed)};
  std::vector<Pair> planted;
  for (int i = 0, made = 0; made < scans; ++i) {
    const ExactHold hold = bench.hold(rich);
    const TriangleMesh mesh = meshSdf(hold.solid, hold.box_mm, 2);
    const std::string id = "S" + std::to_string(i);
    store(library, id, bench.scan(mesh, false, 1));
    ++made;
    if (i % 9 != 0 || made + 3 > scans) continue;
    store(library, id + "-copy", bench.scan(mesh, false, 1));
    store(library, id + "-mirror", bench.scan(mesh, true, 1));
    store(library, id + "-size", bench.scan(mesh, false, bench.between(0.7, 0.9)));
    made += 3;
    const std::vector<std::string> ids = {id, id + "-copy", id + "-mirror", id + "-size"};
    for (std::size_t a = 0; a < ids.size(); ++a)
      for (std::size_t b = a + 1; b < ids.size(); ++b) planted.emplace_back(ids[a], ids[b]);
  }
  return planted;
}

std::string familyOf(const std::string& id) { return id.substr(0, id.find('-')); }

/// Kind that a planted pair has; sizes and hands of copies and originals are known by their names.
Twin::Kind plantedKind(const std::string& a, const std::string& b) {
  const auto is = [&](const char* what) {
    return (a.find(what) != std::string::npos) != (b.find(what) != std::string::npos);
  };
  if (is("-size")) return is("-mirror") ? Twin::MIRRORED_OTHER_SIZE : Twin::OTHER_SIZE;
  return is("-mirror") ? Twin::MIRRORED : Twin::SAME;
}

/// Planted pairs that are not in the list: were they not laid on each other, or not believed?
void sayMissed(const Library& library, const TwinList& list, const std::vector<Pair>& planted) {
  std::map<std::string, PackedSignature> signatures;
  const SignatureIndex index(library);
  for (const auto& entry : index.entries()) signatures[entry.id] = entry.signature;
  for (const auto& [a, b] : planted) {
    const bool found = std::any_of(list.twins().begin(), list.twins().end(), [&](const Twin& t) {
      return (t.hold() == a && t.other() == b) || (t.hold() == b && t.other() == a);
    });
    if (!found)
      std::printf("missed: %s %s, signatures apart by %u\n", a.c_str(), b.c_str(),
                  signatureDistance2(signatures.at(a), signatures.at(b)));
  }
}

void judge(const TwinList& list, int planted, double time_s) {
  int right = 0, wrong = 0, eye_right = 0, eye_wrong = 0, other_kind = 0;
  for (const Twin& twin : list.twins()) {
    const bool same = familyOf(twin.hold()) == familyOf(twin.other());
    ++(twin.needs_an_eye() ? (same ? eye_right : eye_wrong) : (same ? right : wrong));
    if (same && twin.kind() != plantedKind(twin.hold(), twin.other())) ++other_kind;
    if (same == twin.needs_an_eye())
      std::printf("%s: %s %s %.3f mm, 95 %% %.3f mm, patches %.3f mm, scale %.3f\n",
                  same ? "unsure" : (twin.needs_an_eye() ? "eye" : "wrong"), twin.hold().c_str(),
                  twin.other().c_str(), twin.median_mm(), twin.p95_mm(), twin.patch_p85_mm(),
                  twin.scale());
  }
  std::printf("%lld scans, %lld pairs laid on each other, %d planted pairs, %.1f s\n",
              static_cast<long long>(list.holds()), static_cast<long long>(list.registered()),
              planted, time_s);
  std::printf("found %d of %d (recall %.2f %%), of which sure %d (%.2f %%), another kind %d\n",
              right + eye_right, planted, 100.0 * (right + eye_right) / planted, right,
              100.0 * right / planted, other_kind);
  std::printf("precision of the sure ones %.2f %% (%d wrong); %d false ones need an eye\n",
              100.0 * right / std::max(1, right + wrong), wrong, eye_wrong);
}

void writePairs(const TwinList& list, const char* file) {
  std::ofstream out(file);
  out << "hold,other,planted,median_mm,p95_mm,patch_p85_mm,scale,eye\n";
  for (const Twin& t : list.twins())
    out << t.hold() << ',' << t.other() << ',' << (familyOf(t.hold()) == familyOf(t.other())) << ','
        << t.median_mm() << ',' << t.p95_mm() << ',' << t.patch_p85_mm() << ',' << t.scale() << ','
        << t.needs_an_eye() << '\n';
}

}  // namespace

int main(int argc, char** argv) {
  const int scans = argc > 1 ? std::atoi(argv[1]) : 1000;
  const auto seed = static_cast<unsigned>(argc > 2 ? std::atoi(argv[2]) : 4711);
  const bool rich = argc > 3 && std::string(argv[3]) == "rich";
  const auto folder = std::filesystem::temp_directory_path() /
                      ("holdshelf-twins-bench-" + std::to_string(::getpid()));
  std::vector<Pair> planted;
  {
    Library library = Library::openOrCreate(folder);
    planted = fill(library, scans, seed, rich);
  }
  const Library library = Library::open(folder);
  const auto start = std::chrono::steady_clock::now();
  const TwinList list = findTwins(library, {}, {});
  const std::chrono::duration<double> time = std::chrono::steady_clock::now() - start;
  sayMissed(library, list, planted);
  judge(list, static_cast<int>(planted.size()), time.count());
  if (argc > 4) writePairs(list, argv[4]);
  std::filesystem::remove_all(folder);
  return 0;
}
