// SPDX-License-Identifier: Apache-2.0
#include "catalog/hold_change.h"

#include <doctest/doctest.h>

#include "catalog/intake.h"
#include "catalog/library_lot.h"
#include "mesh/bad_input.h"
#include "tests/catalog/library_model.h"
#include "tests/postgres/lost_after_commit.h"
#include "tests/postgres/test_server.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

FinishedScan scanOf(const std::string& mesh) {
  FinishedScan finished;
  finished.mesh_ply = mesh;
  finished.contact_sheet_png = "sheet of " + mesh;
  finished.scan.mutable_shape()->mutable_protrusion_mm()->set_value(30);
  finished.scan.mutable_shape()->add_sections()->set_rotation_deg(5);
  return finished;
}

}  // namespace

TEST_CASE("changeHold: what was stored is answered, be the library lost by then or not") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase();
  Library library = Library::openOrCreate(address);
  Event lot = created("H-0001", "chip");
  lot.mutable_created()->set_count(10);
  library.commit({lot, scanned("H-0001", 12)});
  library.commit({created("H-0002", "ledge"), scanned("H-0002", 30)});
  const Hold part = splitLot(library, "H-0001", 2);
  loseAfterCommit(address);
  Hold hold;
  SUBCASE("a new hold") { hold = storeScan(library, scanOf("new"), {}); }
  SUBCASE("a new scan") {
    hold = storeScan(library, scanOf("again"), {}, {IntakeChoice::Kind::NewScan, "H-0002"});
    CHECK(hold.scans_size() == 2);
  }
  SUBCASE("one more of a lot") {
    IntakeLabels labels;
    labels.count = 5;
    hold = storeScan(library, scanOf("more"), labels, {IntakeChoice::Kind::OneMore, "H-0001"});
    CHECK(hold.count() == 13);
  }
  SUBCASE("some out of a lot") {
    hold = splitLot(library, "H-0001", 3);
    CHECK(hold.count() == 3);
  }
  SUBCASE("back into it") {
    hold = joinLot(library, part.id());
    CHECK(hold.count() == 10);
  }
  CHECK_THROWS_AS((void)library.size(), StoreError);
  // It is what everybody else reads.
  const Library other = Library::open(address);
  CHECK(other.hold(hold.id()).SerializeAsString() == hold.SerializeAsString());
}
