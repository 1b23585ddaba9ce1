// SPDX-License-Identifier: Apache-2.0
#include "catalog/sheet_line.h"

#include <doctest/doctest.h>

#include "mesh/bad_input.h"

using namespace holdshelf;

namespace {

const std::string kFile = "holds.csv";

SheetLine lineOf(const std::vector<std::string>& header, const std::vector<std::string>& cells) {
  return {header, {7, cells}, kFile};
}

}  // namespace

TEST_CASE("sheet line: cells by column, empty where there are none") {
  const SheetLine line = lineOf({"bin", "id", "name"}, {"A1", "H-0001"});
  CHECK(line.at("id") == "H-0001");
  CHECK(line.at("name").empty());
  CHECK(line.has("bin"));
  CHECK_FALSE(line.has("name"));  // The line ends before it: what is missing is left as it is.
  CHECK_FALSE(line.has("status"));
  CHECK_THROWS_AS(lineOf({"id"}, {"H-0001", "more"}), BadInput);
}

TEST_CASE("sheet line: numbers and statuses, or a refusal that names the line") {
  const auto number = [](const std::string& text) {
    return lineOf({"count"}, {text}).number("count", 1, 100);
  };
  CHECK(number("1") == 1);
  CHECK(number("100") == 100);
  CHECK_FALSE(number(""));
  for (const char* bad : {"0", "101", "-1", "4.5", "4 ", "x", "99999999999999999999"})
    CHECK_THROWS_WITH_AS((void)number(bad), doctest::Contains("holds.csv, line 7: count \""),
                         BadInput);
  CHECK(lineOf({"status"}, {"wash"}).status() == WASH);
  CHECK_FALSE(lineOf({"status"}, {""}).status());
  CHECK_THROWS_WITH_AS((void)lineOf({"status"}, {"lost"}).status(),
                       doctest::Contains("Nothing was imported."), BadInput);
}

TEST_CASE("sheet header: known columns, each once, in any order") {
  const auto header = [](const std::vector<std::string>& cells) {
    return sheetHeader({1, cells}, kFile);
  };
  CHECK(header({"revision", "id", "edge_depth_mm"}).size() == 3);
  CHECK_THROWS_WITH_AS(header({"id", "ID"}), doctest::Contains("there is no column \"ID\""),
                       BadInput);
  CHECK_THROWS_WITH_AS(header({"id", "bin", "id"}), doctest::Contains("\"id\" is there twice"),
                       BadInput);
}

TEST_CASE("sheet texts: what a hold says in a column is what an edit of it sets") {
  for (const SheetText& column : kSheetTexts) {
    CAPTURE(column.name);
    Edit edit;
    (edit.*column.set)("wanted");
    edit.add_fields(column.name);
    CHECK(edit.SerializeAsString().find("wanted") != std::string::npos);
  }
  Hold hold;
  hold.set_bin("A1");
  hold.mutable_colour()->set_name("red");
  CHECK(sheetText(hold, kSheetTexts[1]) == "A1");
  CHECK(sheetText(hold, kSheetTexts[5]) == "red");
}
