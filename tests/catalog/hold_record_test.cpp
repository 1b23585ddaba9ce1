// SPDX-License-Identifier: Apache-2.0
#include "catalog/hold_record.h"

#include <doctest/doctest.h>

#include "catalog/ask.h"
#include "catalog/find.h"
#include "catalog/hold_rows.h"
#include "catalog/library_check.h"
#include "tests/catalog/search_holds.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

/// The three holds of threeHolds() in a library; the second one's events say these lips of it.
void fill(Library& library, const std::string& lips) {
  for (const Hold& hold : threeHolds()) {
    Event made, scanned;
    made.set_hold(hold.id());
    made.mutable_created()->set_status(SHELF);
    scanned.set_hold(hold.id());
    *scanned.mutable_scanned() = hold.scans(0);
    if (hold.id() == "H-0002") scanned.mutable_scanned()->set_lips(lips);
    if (hold.id() == "H-0002") *made.mutable_created()->add_scans() = scanned.scanned();
    library.commit({made, scanned});
  }
}

std::size_t found(const Library& library, const std::string& question) {
  return static_cast<std::size_t>(SearchIndex(library).find(queryOf(question)).matched());
}

}  // namespace

TEST_CASE("hold record: an event's own lips are not believed, and end no search") {
  for (const char* lips : {"x", "\1", "no lips at all"}) {
    CAPTURE(std::string(lips));
    TempFolder folder;
    Library library = Library::openOrCreate(folder.path());
    fill(library, lips);
    CHECK(found(library, "protrusion over 10") == 3);
    CHECK(library.hold("H-0002").scans(0).lips().empty());
    CHECK(library.hold("H-0002").scans(1).lips().empty());
    CHECK(checkLibrary(folder.path(), false, {}).faults().empty());
  }
}

TEST_CASE("hold record: a row that has an event's lips is found by check, and made anew") {
  TempFolder folder;
  {
    Library library = Library::openOrCreate(folder.path());
    fill(library, "");
    Hold hold = library.hold("H-0002");  // As a program before this one folded it.
    hold.mutable_scans(1)->set_lips("x");
    const auto write = library.store().write();
    library.store().putHolds(HoldRows({{"H-0002", hold}}).rows());
    write->commit();
  }
  CHECK(found(Library::open(folder.path()), "protrusion over 10") == 3);
  const CheckReport report = checkLibrary(folder.path(), false, {});
  REQUIRE_FALSE(report.faults().empty());
  for (const std::string& fault : report.faults()) CHECK(fault.find("H-0002") != std::string::npos);
  CHECK(checkLibrary(folder.path(), true, {}).repaired());
  CHECK(checkLibrary(folder.path(), false, {}).faults().empty());
  CHECK(Library::open(folder.path()).hold("H-0002").scans(1).lips().empty());
}
