// SPDX-License-Identifier: Apache-2.0
// The routes that show a hold.
#include <doctest/doctest.h>

#include <set>

#include "catalog/api.h"
#include "tests/catalog/store_scan.h"
#include "tests/catalog/temp_folder.h"
#include "tests/shapes/plain_meshes.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("mesh.glb: whatever is asked for, there are few surfaces to make and to keep") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  storeScan(library, "H-0001", latitudeSphere({0, 0, 30}, 30, 40));
  Service service(folder / "l", "/bin/false");
  const auto ask = [&](double triangles) {
    ApiRequest request;
    request.method = "GET";
    request.path = "/api/v1/holds/H-0001/mesh.glb";
    request.query["triangles"] = std::to_string(triangles);
    request.role = Role::Look;
    return answerApi(service, request);
  };
  std::set<std::string> tags;
  for (double triangles = -5; triangles < 1e6; triangles = 1.05 * std::abs(triangles) + 1)
    tags.insert(ask(triangles).tag);
  CHECK(tags.size() == 8);
  CHECK(ask(300'001).tag == ask(300'200).tag);
  CHECK(ask(1500).body.size() < ask(60'000).body.size());
  // What the page asks for it gets.
  for (const char* asked : {"-1500", "-12000", "-60000"})
    CHECK(ask(std::atof(asked + 1)).tag.ends_with(asked));
}
