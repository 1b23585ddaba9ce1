// SPDX-License-Identifier: Apache-2.0
#include "catalog/intake.h"

#include <doctest/doctest.h>

#include "mesh/bad_input.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;

namespace {

FinishedScan scanOf(const std::string& mesh) {
  FinishedScan finished;
  finished.mesh_ply = mesh;
  finished.contact_sheet_png = "sheet of " + mesh;
  finished.scan.mutable_shape()->mutable_protrusion_mm()->set_value(30);
  return finished;
}

}  // namespace

TEST_CASE("storeScan: new, the same hold again, one more of a lot") {
  test::TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  IntakeLabels labels;
  labels.name = "ledge";
  labels.count = 3;
  const Hold made = storeScan(library, scanOf("first"), labels);
  CHECK(made.scans_size() == 1);
  CHECK(made.count() == 3);

  const Hold again =
      storeScan(library, scanOf("second"), {}, {IntakeChoice::Kind::NewScan, made.id()});
  CHECK(again.id() == made.id());
  CHECK(again.scans_size() == 2);
  CHECK(again.name() == "ledge");

  const Hold more =
      storeScan(library, scanOf("third"), {}, {IntakeChoice::Kind::OneMore, made.id()});
  CHECK(more.id() == made.id());
  CHECK(more.count() == 4);
  CHECK(more.scans_size() == 2);  // The baseline stays that of the piece that was scanned.
  REQUIRE(more.photo_blobs_size() == 1);
  CHECK(library.blobs().get(more.photo_blobs(0)) == "sheet of third");
  CHECK(library.size() == 1);
  CHECK_THROWS_AS(storeScan(library, scanOf("x"), {}, {IntakeChoice::Kind::OneMore, "H-0099"}),
                  BadInput);
}

TEST_CASE("againText: a sure twin is the hold again; others are told by what they are") {
  Twin twin;
  twin.set_kind(Twin::SAME);
  twin.set_other("H-0412");
  twin.set_scale(1);
  twin.set_median_mm(0.081);
  CHECK(againText(twin) == "This is H-0412 again (0.08 mm).");
  twin.set_needs_an_eye(true);
  CHECK(againText(twin).find("look at both") != std::string::npos);
  twin.set_kind(Twin::MIRRORED);
  CHECK(againText(twin).find("mirror image of H-0412") != std::string::npos);
}
