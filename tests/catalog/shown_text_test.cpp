// SPDX-License-Identifier: Apache-2.0
#include "catalog/shown_text.h"

#include <doctest/doctest.h>

#include "mesh/bad_input.h"

using namespace holdshelf;

TEST_CASE("shown text: letters are counted, not bytes") {
  // U+00E4, U+20AC and U+1F9D7 have two, three and four bytes (RFC 3629, section 3).
  const std::string four = "a\xc3\xa4\xe2\x82\xac\xf0\x9f\xa7\x97";
  CHECK(shownLine(four, 4, "name") == four);
  CHECK_THROWS_AS(shownLine(four, 3, "name"), BadInput);
}

TEST_CASE("shown text: what is no letter goes, a note keeps its lines") {
  CHECK(shownLine("  quay\n\x1b[31m crimp \t", 40, "name") == "quay[31m crimp");
  CHECK(shownText("\nfirst\n\tsecond\x7f\r\n", 40, "note") == "first\n\tsecond");
  CHECK(shownText(" \n\t\x01", 40, "note").empty());
}

TEST_CASE("shown text: blanks around it do not count") {
  CHECK(shownLine(std::string(100, ' ') + "abc" + std::string(100, ' '), 3, "bin") == "abc");
}

TEST_CASE("shown text: what nobody typed is cut between letters, with no blank at its end") {
  const std::string four = "a\xc3\xa4\xe2\x82\xac\xf0\x9f\xa7\x97";  // As above.
  CHECK(shownStart(four, 4) == four);
  CHECK(shownStart(four, 3) == four.substr(0, 6));
  CHECK(shownStart(four, 2) == four.substr(0, 3));
  CHECK(shownStart(four, 0).empty());
  CHECK(shownStart(" ab\n c", 3) == "ab");
}
