// SPDX-License-Identifier: Apache-2.0
#include "catalog/csv_import.h"

#include <doctest/doctest.h>

#include "catalog/hold_record.h"
#include "catalog/library_csv.h"
#include "mesh/bad_input.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using holdshelf::test::TempFolder;

namespace {

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  const std::size_t at = text.find(from);
  REQUIRE(at != std::string::npos);
  return text.replace(at, from.size(), to);
}

void fill(Library& library) {
  Event made, moved;
  made.set_hold("H-0001");
  made.mutable_created()->set_name("ledge, \"big\"\nsecond line; semicolon");
  made.mutable_created()->set_bin("A1");
  made.mutable_created()->set_status(SHELF);
  made.mutable_created()->set_count(4);
  moved.set_hold("H-0001");
  moved.mutable_moved()->set_status(WALL);
  moved.mutable_moved()->set_zone("slab");
  moved.mutable_moved()->set_climb("grün 12");
  library.commit({made, moved});
}

}  // namespace

TEST_CASE("libraryCsv, importCsv: out and back changes nothing, in the same or a new library") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "a");
  fill(library);
  const std::string sheet = libraryCsv(library);
  const ImportReport same = importCsv(library, sheet, {});
  CHECK(same.rows() == 1);
  CHECK(same.holds_changed() + same.holds_added() == 0);
  CHECK(library.lastEvent() == 2);

  Library other = Library::openOrCreate(folder / "b");
  CHECK(importCsv(other, sheet, {}).holds_added() == 1);
  CHECK(libraryCsv(other) == sheet);
}

TEST_CASE("libraryCsv, importCsv: text like a formula goes out as text and comes back as it was") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "a");
  fill(library);
  Event edit, moved;
  edit.set_hold("H-0001");
  edit.mutable_edited()->set_name("=HYPERLINK(\"http://x\",\"y\")");
  edit.mutable_edited()->set_bin("'@A1");
  edit.mutable_edited()->add_fields("name");
  edit.mutable_edited()->add_fields("bin");
  moved.set_hold("H-0001");
  moved.mutable_moved()->set_status(CRATE);
  moved.mutable_moved()->set_crate("-7");
  library.commit({edit, moved});
  const std::string sheet = libraryCsv(library);
  CHECK(sheet.find("H-0001,\"'=HYPERLINK(\"\"http://x\"\",\"\"y\"\")\",''@A1,") !=
        std::string::npos);
  CHECK(sheet.find(",crate,'-7,") != std::string::npos);
  CHECK(importCsv(library, sheet, {}).holds_changed() == 0);
  Library other = Library::openOrCreate(folder / "b");
  importCsv(other, sheet, {});
  CHECK(other.hold("H-0001").name() == "=HYPERLINK(\"http://x\",\"y\")");
  CHECK(other.hold("H-0001").bin() == "'@A1");
  CHECK(other.hold("H-0001").crate() == "-7");
}

TEST_CASE("importCsv: edits, moves, notes and new holds, once") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  fill(library);
  const std::string sheet =
      "id;bin;count;colour;status;zone;new_note\n"
      "H-0001;B2;5;orange;wash;;smells of resin\n"
      ";C3;;;;;\n"
      "X-7;C4;2;green;wall;cave;\n";
  CsvImportOptions dry;
  dry.dry_run = true;
  CHECK(importCsv(library, sheet, dry).changes_size() > 3);
  CHECK(library.lastEvent() == 2);
  const ImportReport report = importCsv(library, sheet, {});
  CHECK(report.holds_added() == 2);
  CHECK(report.holds_changed() == 1);
  const Hold hold = library.hold("H-0001");
  CHECK(hold.bin() == "B2");
  CHECK(hold.count() == 5);
  CHECK(hold.colour().name() == "orange");
  CHECK(hold.status() == WASH);
  CHECK(hold.climb().empty());
  CHECK(hold.notes_size() == 1);
  CHECK(hold.name().find("ledge") == 0);  // No such column: left as it was.
  CHECK(library.hold("H-0002").bin() == "C3");
  CHECK(library.hold("X-7").zone() == "cave");
  CHECK(library.hold("X-7").colour().name() == "green");
  const std::int64_t events = library.lastEvent();
  importCsv(library, replaced(sheet, ";C3;;;;;\n", ""), {});
  CHECK(library.lastEvent() == events);
}

TEST_CASE("importCsv: a bad line is named and nothing is imported") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  fill(library);
  const auto refused = [&](const std::string& sheet, const char* part) {
    CAPTURE(sheet);
    CHECK_THROWS_WITH_AS(importCsv(library, sheet, {}), doctest::Contains(part), BadInput);
    CHECK(library.lastEvent() == 2);
  };
  refused("id,bin\nH-0001,Z\nH-0001,Y\n", "line 3: the id H-0001 is there twice");
  refused("id,count\nH-0001,two\n", "line 2: count \"two\"");
  refused("id,count\nH-0001,2\nH-0005,0\n", "line 3");
  refused("id,status\nH-0001,lost\n", "line 2: \"lost\" is not a status");
  refused("id,shelf\nH-0001,2\n", "no column \"shelf\"");
  refused("id,bin\nH-0001,A,B\n", "more cells than columns");
  refused("id,status,zone\nH-0001,shelf,slab\n", "status wall only");
  refused("", "is empty");
}

TEST_CASE("importCsv: a sheet that somebody has overtaken is refused unless forced") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  fill(library);
  const std::string sheet = replaced(libraryCsv(library), ",A1,", ",Z9,");
  Event note;
  note.set_hold("H-0001");
  note.set_noted("meanwhile");
  library.commit({note});
  CHECK_THROWS_WITH_AS(importCsv(library, sheet, {}), doctest::Contains("--force"), BadInput);
  CsvImportOptions force;
  force.force = true;
  importCsv(library, sheet, force);
  CHECK(library.hold("H-0001").bin() == "Z9");
}

TEST_CASE("importCsv: pieces that are gone are a change as pieces that came") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  fill(library);
  for (const int count : {2, 7}) {
    const std::string now = "," + std::to_string(library.hold("H-0001").count()) + ",";
    importCsv(library, replaced(libraryCsv(library), now, "," + std::to_string(count) + ","), {});
    CHECK(library.hold("H-0001").count() == count);
  }
}
