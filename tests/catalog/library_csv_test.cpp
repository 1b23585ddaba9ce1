// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_csv.h"

#include <doctest/doctest.h>

#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("libraryCsv: one line a hold, what people say first, then what was measured") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  CHECK(libraryCsv(library) ==
        "id,name,bin,set,maker,texture,count,colour,status,crate,zone,climb,new_note,revision,"
        "scanned_at,protrusion_mm,footprint_width_mm,footprint_height_mm,volume_mm3,edge_depth_mm,"
        "lip_radius_mm,incut_deg,good_for\r\n");
  Event made, scanned;
  made.set_hold("H-0001");
  made.mutable_created()->set_name("ledge, left");
  made.mutable_created()->set_bin("A1");
  made.mutable_created()->set_status(SHELF);
  scanned.set_hold("H-0001");
  scanned.mutable_scanned()->set_taken_at("2030-01-02T03:04:05Z");
  Shape& shape = *scanned.mutable_scanned()->mutable_shape();
  shape.mutable_protrusion_mm()->set_value(44.04);
  shape.mutable_volume_mm3()->set_value(123456.7);
  Grip& grip = *shape.add_grips();
  grip.mutable_edge_depth_mm()->set_value(22.26);
  grip.mutable_edge_width_mm()->set_value(60);
  grip.mutable_incut_deg()->set_value(12.4);
  scanned.add_words()->set_word("edge");
  scanned.add_words()->set_word("crimp");
  scanned.add_words()->set_word("edge");
  made.mutable_created()->set_count(4);
  library.commit({made, scanned});
  Event without;
  without.set_hold("H-0002");
  without.mutable_created()->set_status(SHELF);
  library.commit({without});
  const std::string sheet = libraryCsv(library);
  const std::size_t first = sheet.find("\r\n") + 2;
  CHECK(sheet.substr(first) ==
        "H-0001,\"ledge, left\",A1,,,,4,,shelf,,,,,2,2030-01-02T03:04:05Z,44.0,,,123457,22.3,,12,"
        "edge crimp\r\n"
        "H-0002,,,,,,1,,shelf,,,,,1,,,,,,,,,\r\n");
}

TEST_CASE("libraryCsv: what others wrote is text, and numbers below zero are numbers") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  Event made, scanned;
  made.set_hold("=1+1");
  made.mutable_created()->set_status(SHELF);
  scanned.set_hold("=1+1");
  scanned.mutable_scanned()->set_taken_at("@day");
  Grip& grip = *scanned.mutable_scanned()->mutable_shape()->add_grips();
  grip.mutable_edge_depth_mm()->set_value(22);
  grip.mutable_edge_width_mm()->set_value(60);
  grip.mutable_incut_deg()->set_value(-12);
  scanned.add_words()->set_word("+a,b");
  library.commit({made, scanned});
  const std::string sheet = libraryCsv(library);
  CHECK(sheet.substr(sheet.find("\r\n") + 2) ==
        "'=1+1,,,,,,1,,shelf,,,,,2,'@day,,,,,22.0,,-12,\"'+a,b\"\r\n");
}
