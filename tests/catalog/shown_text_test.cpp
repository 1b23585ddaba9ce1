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

TEST_CASE("shown text: what a terminal takes for commands goes, also in two bytes") {
  // C1 is U+0080 to U+009F (ISO/IEC 6429): in UTF-8 c2 80 to c2 9f.
  CHECK(shownLine("\u0080a\u009b31mb\u009f", 40, "name") == "a31mb");
  CHECK(shownText("a\u0085\nb\u009d", 40, "note") == "a\nb");
  CHECK(shownStart("a\u0090bc", 2) == "ab");
  // Their neighbours, and letters that have such a byte at their end, stay.
  CHECK(shownLine("x\u00a0y\u00c0\u015b\u201bz", 40, "name") == "x\u00a0y\u00c0\u015b\u201bz");
}

TEST_CASE("shown text: for a terminal the lines stay, and nothing is put together by what goes") {
  CHECK(withoutControls("\ta \x1b[31mb\r\n\n") == "\ta [31mb\n\n");
  CHECK(withoutControls("a\u0090\x7f b") == "a b");
  CHECK(withoutControls("a\xc2\x1b\x9b"
                        "b") == "ab");
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

TEST_CASE("shown text: what is refused keeps its blanks, and is short even where it is no UTF-8") {
  CHECK(givenStart(" red \n", 40) == " red ");
  CHECK(givenStart("abcd", 3) == "abc");
  CHECK(givenStart(std::string(4000, '\x85'), 40).size() == 160);
  CHECK_THROWS_AS(shownLine(std::string(4000, '\x85'), 3, "bin"), BadInput);
}
