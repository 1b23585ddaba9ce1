// SPDX-License-Identifier: Apache-2.0
// How surely twins are found: twins_bench [SHAPES], by default 150 different parametric holds, each
// "scanned" with noise at a random rotation and place, and for every fifth a copy, a mirror image
// and another size among them, all scanned anew with 5 % of the surface worn by half a millimetre.
// Prints recall and precision over pairs, and the time.
#include <unistd.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <numbers>
#include <random>
#include <set>
#include <string>

#include "catalog/library.h"
#include "catalog/twins.h"
#include "mesh/mesh_io.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

struct Bench {
  std::mt19937 random{4711};
  double between(double from, double to) {
    return std::uniform_real_distribution<double>(from, to)(random);
  }

  /// No caps of spheres: up to size they differ in one number only, so that among a hundred drawn
  /// ones several are one shape.
  ExactHold shape() {
    switch (random() % 3) {
      case 0: {
        EdgeSpec spec;
        spec.depth_mm = between(10, 30);
        spec.lip_radius_mm = between(2, 6);
        spec.incut_deg = between(-20, 20);
        spec.width_mm = between(50, 130);
        spec.protrusion_mm = spec.depth_mm + between(12, 25);
        return edgeHold(spec);
      }
      case 1:
        return pinchHold(between(20, 45), between(5, 35), between(30, 60), between(50, 110),
                         between(3, 8));
      default:
        return pocketHold(between(22, 60), between(18, 30), between(12, 28), between(2, 5));
    }
  }

  /// Worn by half a millimetre within a ball that holds about 5 % of the surface, then scanned.
  TriangleMesh scan(TriangleMesh mesh, bool mirrored, double scale, bool worn) {
    const Eigen::Matrix3d R =
        Eigen::AngleAxisd(between(0, 2 * std::numbers::pi), Vector3d::UnitZ()).toRotationMatrix();
    const Vector3d shift(between(-20, 20), between(-20, 20), 0);
    const auto normals = vertexNormals(mesh);
    const Vector3d spot = mesh.vertices_mm[random() % mesh.vertices_mm.size()];
    std::normal_distribution<double> noise(0, 0.15);
    for (std::size_t i = 0; i < mesh.vertices_mm.size(); ++i) {
      Vector3d v = mesh.vertices_mm[i];
      if (worn && (v - spot).norm() < 15 && v.z() > 1) v -= 0.5 * normals[i];
      if (mirrored) v.x() = -v.x();
      mesh.vertices_mm[i] =
          R * (scale * v) + shift + Vector3d(noise(random), noise(random), noise(random));
    }
    if (mirrored)
      for (auto& triangle : mesh.triangles) std::swap(triangle[1], triangle[2]);
    return mesh;
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

}  // namespace

int main(int argc, char** argv) {
  const int shapes = argc > 1 ? std::atoi(argv[1]) : 150;
  const auto folder = std::filesystem::temp_directory_path() /
                      ("holdshelf-twins-bench-" + std::to_string(::getpid()));
  Bench bench;
  std::set<std::string> families;
  {
    Library library = Library::openOrCreate(folder);
    for (int i = 0; i < shapes; ++i) {
      const ExactHold hold = bench.shape();
      const TriangleMesh mesh = meshSdf(hold.solid, hold.box_mm, 2);
      const std::string id = "S" + std::to_string(i);
      store(library, id, bench.scan(mesh, false, 1, false));
      if (i % 5 != 0) continue;
      store(library, id + "-copy", bench.scan(mesh, false, 1, true));
      store(library, id + "-mirror", bench.scan(mesh, true, 1, true));
      store(library, id + "-size", bench.scan(mesh, false, bench.between(0.7, 0.9), true));
      families.insert(id);
    }
  }
  const Library library = Library::open(folder);
  const auto start = std::chrono::steady_clock::now();
  const TwinList list = findTwins(library, {}, {});
  const double time =
      std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  const auto family = [](const std::string& id) { return id.substr(0, id.find('-')); };
  int right = 0, wrong = 0, eye = 0;
  double worst_mm = 0;
  for (const Twin& twin : list.twins()) {
    const bool same = family(twin.hold()) == family(twin.other());
    if (same) ++right;
    if (same) worst_mm = std::max(worst_mm, twin.median_mm());
    if (twin.needs_an_eye()) ++eye;
    if (!same && !twin.needs_an_eye()) ++wrong;
    if (!same && !twin.needs_an_eye())
      std::printf("wrong: %s %s %.3f mm, 95 %% %.3f mm, scale %.2f\n", twin.hold().c_str(),
                  twin.other().c_str(), twin.median_mm(), twin.p95_mm(), twin.scale());
  }
  const int planted = static_cast<int>(families.size()) * 6;
  std::printf("%lld holds, %lld pairs laid on each other, %d planted pairs\n",
              static_cast<long long>(list.holds()), static_cast<long long>(list.registered()),
              planted);
  std::printf("recall %.2f %%, precision of the sure ones %.2f %%, %d need an eye, %.1f s\n",
              100.0 * right / planted, 100.0 * right / std::max(1, right + wrong), eye, time);
  std::printf("planted pairs lie within %.3f mm (median) of each other\n", worst_mm);
  std::filesystem::remove_all(folder);
  return 0;
}
