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
