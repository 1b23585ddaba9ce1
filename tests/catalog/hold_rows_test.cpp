// SPDX-License-Identifier: Apache-2.0
#include "catalog/hold_rows.h"

#include <doctest/doctest.h>

#include "catalog/search_entry.h"
#include "catalog/search_row.h"
#include "tests/catalog/search_holds.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("hold rows: names, place, measures and what search reads, in the order of ids") {
  Hold hold = threeHolds()[0];
  hold.set_name("Harbour ledge");
  hold.set_bin("A1");
  hold.set_set("Harbour");
  hold.set_site("north");
  hold.set_lent_to("south");
  hold.set_status(CRATE);
  hold.mutable_scans(0)->mutable_shape()->mutable_volume_mm3()->set_value(1234.5);
  hold.mutable_scans(0)->mutable_shape()->add_sections()->set_rotation_deg(0);
  hold.mutable_scans(0)->mutable_report()->add_cameras();
  Hold unseen;
  unseen.set_id("G-1");
  const HoldRows rows({{"H-0001", hold}, {"G-1", unseen}});
  REQUIRE(rows.rows().size() == 2);
  CHECK(rows.rows()[0].id == "G-1");
  CHECK_FALSE(rows.rows()[0].volume_mm3);  // Never scanned.
  const HoldRow& row = rows.rows()[1];
  CHECK(row.id == "H-0001");
  CHECK(row.name == "Harbour ledge");
  CHECK(row.bin == "A1");
  CHECK(row.set == "Harbour");
  CHECK(row.colour == hold.colour().name());
  CHECK(row.site == "south");  // Where it stands, not whose it is.
  CHECK(row.status == CRATE);
  CHECK(row.protrusion_mm.value_or(0) == 30);
  CHECK(row.volume_mm3.value_or(0) == 1234.5);
  CHECK_FALSE(row.marks.empty());
  CHECK(searchEntry(row).row.numbers[static_cast<std::size_t>(NumberGroup::Grip)].rows == 2);
  Hold kept;
  REQUIRE(kept.ParseFromArray(row.body.data(), static_cast<int>(row.body.size())));
  CHECK(kept.name() == "Harbour ledge");
  CHECK(kept.scans(0).shape().grips_size() == 2);
  CHECK(kept.scans(0).shape().sections().empty());  // These stay in the events.
  CHECK(kept.scans(0).report().cameras().empty());
}

TEST_CASE("hold rows: more grips and words than can be counted leave a row that can be read") {
  Hold hold = threeHolds()[0];
  for (int i = 0; i < 70'000; ++i) {
    hold.mutable_scans(0)->mutable_shape()->add_grips()->set_rotation_deg(i % 360);
    hold.add_words()->set_word("jug");
  }
  const SearchRow row = unpackSearchRow(packSearchRow(hold));
  CHECK(row.numbers[static_cast<std::size_t>(NumberGroup::Grip)].rows == 65'535);
  CHECK(row.words.size() == 65'535);
  CHECK(row.numbers[static_cast<std::size_t>(NumberGroup::Hold)].values[0] == 30);
}
