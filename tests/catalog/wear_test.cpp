// SPDX-License-Identifier: Apache-2.0
#include "catalog/wear.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <random>

#include "catalog/blob_store.h"
#include "catalog/intake.h"
#include "catalog/library.h"
#include "mesh/measure_shape.h"
#include "mesh/mesh_io.h"
#include "mesh/unreadable_file.h"
#include "tests/catalog/temp_folder.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
namespace fs = std::filesystem;

namespace {

TriangleMesh edgeMesh(double lip_radius_mm) {
  EdgeSpec spec;
  spec.lip_radius_mm = lip_radius_mm;
  const ExactHold hold = edgeHold(spec);
  return meshSdf(hold.solid, hold.box_mm, 0.8);
}

TriangleMesh noisy(TriangleMesh mesh, double noise_mm, unsigned seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> noise(0, noise_mm);
  for (auto& v : mesh.vertices_mm)
    v += Eigen::Vector3d(noise(random), noise(random), noise(random));
  return mesh;
}

}  // namespace

TEST_CASE("compareScans: a lip that grew by 2 mm is worn, by its exact growth") {
  const TriangleMesh fresh = edgeMesh(4);
  const Wear wear = compareScans(fresh, measureShape(fresh), edgeMesh(6));
  CHECK(wear.grade().starts_with("worn"));
  // At rotation 0 the section is exactly the profile: 4 mm became 6 mm.
  const auto lip = std::find_if(wear.lips().begin(), wear.lips().end(),
                                [](const LipChange& l) { return l.rotation_deg() == 0; });
  REQUIRE(lip != wear.lips().end());
  CHECK(lip->sure());
  CHECK(lip->radius_growth_mm().value() == doctest::Approx(2).epsilon(0.15));
  CHECK(wear.lost_mm3().value() > 0);
}

TEST_CASE("compareScans: two scans of the same hold raise no alarm") {
  const TriangleMesh fresh = edgeMesh(4);
  const TriangleMesh first = noisy(fresh, 0.05, 1);
  const Shape shape = measureShape(first);
  for (unsigned seed = 2; seed < 5; ++seed) {
    CAPTURE(seed);
    const Wear wear = compareScans(first, shape, noisy(fresh, 0.05, seed));
    CAPTURE(wear.reason());
    CHECK(wear.grade() == "none seen");
    CHECK(wear.chunks().empty());
  }
}

TEST_CASE("wearOfAll: a hold with a mesh that is lost is left out and named, the others compared") {
  test::TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  const FinishedScan fresh = finishMesh(edgeMesh(4), {}), worn = finishMesh(edgeMesh(6), {});
  for (const char* id : {"H-0001", "H-0002"}) {
    CHECK(storeScan(library, fresh, {}).id() == id);
    storeScan(library, worn, {}, {IntakeChoice::Kind::NewScan, id});
  }
  // Both have the same files: one of its own for the first.
  FinishedScan own = worn;
  own.mesh_ply = plyBytes(noisy(edgeMesh(6), 0.01, 1));
  storeScan(library, own, {}, {IntakeChoice::Kind::NewScan, "H-0001"});
  const fs::path file =
      BlobStore(folder / "blobs").file(library.hold("H-0001").scans(2).mesh_blob());
  fs::remove(file);
  const WearList list = wearOfAll(library, {}, {});
  REQUIRE(list.wears_size() == 1);
  CHECK(list.wears(0).hold() == "H-0002");
  REQUIRE(list.unread_size() == 1);
  CHECK(list.unread(0) == "H-0001");
  // Of what cannot be read now that cannot be said.
  fs::create_symlink(file.filename(), file);  // Leads to itself.
  CHECK_THROWS_AS(wearOfAll(library, {}, {}), UnreadableFile);
}
