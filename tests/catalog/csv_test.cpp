// SPDX-License-Identifier: Apache-2.0
#include "catalog/csv.h"

#include <doctest/doctest.h>

#include "mesh/bad_input.h"

using namespace holdshelf;

TEST_CASE("parseCsv: quotes, line breaks in cells, CRLF, mark, semicolons, tabs") {
  const auto rows = parseCsv(
      "\xEF\xBB\xBF"
      "a,b\r\n\"x, \"\"y\"\"\nz\",2\r\n\r\n3,\n",
      "f");
  REQUIRE(rows.size() == 3);
  CHECK(rows[1].cells == std::vector<std::string>{"x, \"y\"\nz", "2"});
  CHECK(rows[2].cells == std::vector<std::string>{"3", ""});
  CHECK(rows[2].line == 5);
  CHECK(parseCsv("a;b;c\n1,5;2;3", "f")[1].cells[0] == "1,5");
  CHECK(parseCsv("a\tb\n1\t2", "f")[1].cells[1] == "2");
  CHECK_THROWS_WITH_AS(parseCsv("a,b\n\"open,2\n", "f"), doctest::Contains("line 2"), BadInput);
  CHECK_THROWS_WITH_AS(parseCsv("a\nb\n\xE4\n", "f"), doctest::Contains("line 3"), BadInput);
  for (const std::string text : {"plain", "a,b", "say \"x\"", "two\nlines", "a;b", "tab\there"})
    CHECK(parseCsv("h,g\n" + csvCell(text) + ",1", "f")[1].cells[0] == text);
}

TEST_CASE("csvCell, parseCsv: text that a spreadsheet would work out is marked, and comes back") {
  for (const std::string text :
       {"=1+1", "+x", "-x", "@x", "-", "\tx", "\rx", "\nx", "=HYPERLINK(\"a\",\"b\")", "'=x",
        "''-x", "'", "'tis", "''", "a=b", " =x"}) {
    CAPTURE(text);
    const std::string cell = csvCell(text);
    CHECK(std::string("=+-@\t\r\n").find(cell[cell[0] == '"' ? 1 : 0]) == std::string::npos);
    for (const std::string separator : {",", ";", "\t"})
      CHECK(parseCsv("h" + separator + "g\n1" + separator + cell, "f")[1].cells[1] == text);
  }
  CHECK(csvCell("=1+1") == "'=1+1");
  CHECK(csvCell("=a,b") == "\"'=a,b\"");
  CHECK(csvCell("'tis") == "'tis");
}
