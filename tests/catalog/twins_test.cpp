// SPDX-License-Identifier: Apache-2.0
#include "catalog/twins.h"

#include <doctest/doctest.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <numbers>
#include <random>

#include "catalog/blob_store.h"
#include "mesh/mesh_io.h"
#include "mesh/unreadable_file.h"
#include "tests/catalog/store_scan.h"
#include "tests/catalog/temp_folder.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

/// As if the hold had been scanned once more: turned, shifted, with noise; mirrored and scaled
/// where asked, which no scan does.
TriangleMesh rescanned(TriangleMesh mesh, double turn_deg, bool mirrored, double scale,
                       unsigned seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> noise(0, 0.15);
  const Eigen::Matrix3d R =
      Eigen::AngleAxisd(turn_deg * std::numbers::pi / 180, Vector3d::UnitZ()).toRotationMatrix();
  for (Vector3d& v : mesh.vertices_mm) {
    if (mirrored) v.x() = -v.x();
    v = R * (scale * v) + Vector3d(5, 9, 0) + Vector3d(noise(random), noise(random), noise(random));
  }
  if (mirrored)
    for (auto& triangle : mesh.triangles) std::swap(triangle[1], triangle[2]);
  return mesh;
}

TriangleMesh meshOf(const std::string& name) {
  const ExactHold hold = holdNamed(name);
  return meshSdf(hold.solid, hold.box_mm, 2);
}

}  // namespace

TEST_CASE("findTwins: a copy, a mirror image and another size among different holds") {
  test::TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  const TriangleMesh ledge = meshOf("ledge");
  for (const char* name :
       {"ledge", "bowl", "edge", "dome", "pinch", "pocket", "jug", "chip", "fin"})
    test::storeScan(library, name, meshOf(name));
  test::storeScan(library, "copy", rescanned(ledge, 77, false, 1, 1));
  test::storeScan(library, "mirror", rescanned(ledge, 200, true, 1, 2));
  test::storeScan(library, "small", rescanned(ledge, 310, false, 0.8, 3));

  const TwinList list = findTwins(library, {}, {});
  CHECK(list.holds() == 12);
  // The four ledges are twins of each other, six pairs; nothing else is.
  const auto kindOf = [&](const std::string& a, const std::string& b) {
    for (const Twin& twin : list.twins())
      if ((twin.hold() == a && twin.other() == b) || (twin.hold() == b && twin.other() == a))
        return twin.kind();
    return Twin::KIND_UNSPECIFIED;
  };
  CHECK(kindOf("ledge", "copy") == Twin::SAME);
  CHECK(kindOf("ledge", "mirror") == Twin::MIRRORED);
  CHECK(kindOf("copy", "mirror") == Twin::MIRRORED);
  CHECK(kindOf("ledge", "small") == Twin::OTHER_SIZE);
  CHECK(kindOf("copy", "small") == Twin::OTHER_SIZE);
  CHECK(kindOf("mirror", "small") == Twin::MIRRORED_OTHER_SIZE);
  CHECK(list.twins_size() == 6);
  for (const Twin& twin : list.twins()) {
    CAPTURE(twin.hold());
    CAPTURE(twin.other());
    CHECK_FALSE(twin.needs_an_eye());
    CHECK(twin.median_mm() < 0.2);
  }
}

TEST_CASE(
    "twins: a hold whose mesh is lost or damaged is left out and named, the others compared") {
  test::TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  const TriangleMesh ledge = meshOf("ledge");
  test::storeScan(library, "ledge", ledge);
  test::storeScan(library, "copy", rescanned(ledge, 77, false, 1, 1));
  test::storeScan(library, "third", rescanned(ledge, 120, false, 1, 2));
  const auto file = [&](const std::string& id) {
    return BlobStore(folder / "blobs").file(library.hold(id).scans(0).mesh_blob());
  };
  std::filesystem::remove(file("ledge"));
  TwinList found = twinsOfMesh(library, rescanned(ledge, 33, false, 1, 4), {}, {});
  REQUIRE(found.unread_size() == 1);
  CHECK(found.unread(0) == "ledge");
  CHECK(found.twins_size() == 2);
  CHECK(found.registered() == 2);
  found = findTwins(library, {}, {});
  REQUIRE(found.unread_size() == 1);
  CHECK(found.unread(0) == "ledge");
  REQUIRE(found.twins_size() == 1);  // Of the other two.
  CHECK(found.twins(0).other() == "third");

  writeFileDurably(file("copy"), "something else");
  CHECK(twinsOfMesh(library, ledge, {}, {}).unread_size() == 2);
  CHECK(findTwins(library, {}, {}).unread_size() == 2);
  // What only cannot be read now may be the very hold.
  std::filesystem::remove(file("third"));
  std::filesystem::create_symlink(file("third").filename(), file("third"));  // Leads to itself.
  CHECK_THROWS_AS(twinsOfMesh(library, ledge, {}, {}), UnreadableFile);
  CHECK_THROWS_AS(findTwins(library, {}, {}), UnreadableFile);
}

TEST_CASE("twinsOfMesh: a hold on the turntable is recognised before it is stored") {
  test::TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  for (const char* name : {"ledge", "bowl", "jug"}) test::storeScan(library, name, meshOf(name));
  const TwinList again = twinsOfMesh(library, rescanned(meshOf("bowl"), 33, false, 1, 4), {}, {});
  REQUIRE(again.twins_size() == 1);
  CHECK(again.twins(0).other() == "bowl");
  CHECK(again.twins(0).kind() == Twin::SAME);
  CHECK(twinsOfMesh(library, meshOf("pocket"), {}, {}).twins().empty());
}
