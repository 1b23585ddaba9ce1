// SPDX-License-Identifier: Apache-2.0
#include "catalog/search_entry.h"

#include <doctest/doctest.h>

#include "catalog/hold_numbers.h"
#include "catalog/library.h"
#include "mesh/bad_input.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("search entry: of a hold's row it is what the hold itself gives") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  Event created, scanned;
  created.set_hold("H-0007");
  created.mutable_created()->set_name("Harbour ledge");
  created.mutable_created()->set_bin("A1");
  created.mutable_created()->set_set("Harbour");
  created.mutable_created()->set_status(SHELF);
  scanned.set_hold("H-0007");
  scanned.mutable_scanned()->mutable_shape()->mutable_protrusion_mm()->set_value(44);
  library.commit({created, scanned});
  const SearchEntry of_hold = searchEntry(library.hold("H-0007"));
  int rows = 0;
  library.store().forEachHold(LibraryStore::HoldPart::Search, [&](const HoldRow& row) {
    const SearchEntry entry = searchEntry(row);
    CHECK(entry.id == "H-0007");
    CHECK(entry.name == of_hold.name);
    CHECK(entry.bin == "A1");
    CHECK(entry.set == "Harbour");
    CHECK(entry.status == of_hold.status);
    CHECK(entry.site == of_hold.site);
    // The protrusion, to a step of what search keeps.
    const auto whole = static_cast<std::size_t>(NumberGroup::Hold);
    CHECK(entry.row.numbers.at(whole).values.at(0) == doctest::Approx(44).epsilon(0.001));
    CHECK(of_hold.row.numbers.at(whole).values.at(0) == entry.row.numbers.at(whole).values.at(0));
    ++rows;
    HoldRow damaged = row;
    damaged.search = damaged.search.substr(0, damaged.search.size() / 2);
    CHECK_THROWS_AS((void)searchEntry(damaged), BadInput);
  });
  CHECK(rows == 1);
}
