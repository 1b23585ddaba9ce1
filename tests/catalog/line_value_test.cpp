// SPDX-License-Identifier: Apache-2.0
#include "catalog/line_value.h"

#include <doctest/doctest.h>

#include "mesh/bad_input.h"

using namespace holdshelf;

namespace {

constexpr double kNone = 1e300;  // Of an open end.

/// The value that the whole line is.
LineValue valueOf(const std::string& line) {
  LineWords words(line);
  const auto value = takeValue(words);
  REQUIRE(value);
  CHECK(words.atEnd());
  return *value;
}

void check(const std::string& line, double from, double to, bool alone = false) {
  CAPTURE(line);
  const LineValue value = valueOf(line);
  CHECK(value.from.value_or(-kNone) == doctest::Approx(from));
  CHECK(value.to.value_or(kNone) == doctest::Approx(to));
  CHECK(value.alone == alone);
}

}  // namespace

TEST_CASE("line value: one number, with or without its unit") {
  for (const char* line : {"14", "14mm", "14 mm", "about 14", "1.4 cm", "1.4cm", "exactly 14 mm"})
    check(line, 14, 14, true);
  check("four", 4, 4, true);
  check("30°", 30, 30, true);
  check("30 degrees", 30, 30, true);
  check("-12", -12, -12, true);
}

TEST_CASE("line value: open ends") {
  for (const char* line : {"over 14", "at least 14 mm", "14 or more", "14.. mm", ">= 1.4 cm"})
    check(line, 14, kNone);
  for (const char* line : {"under 14", "at most 14 mm", "14 or less", "..14", "< 1.4cm"})
    check(line, -kNone, 14);
}

TEST_CASE("line value: ranges, whose unit stands at either end") {
  for (const char* line : {"14..20", "14 to 20 mm", "14mm to 20mm", "1.4 to 2 cm", "17 ± 3",
                           "17±3 mm", "17 +- 3", "1.7 ± 0.3 cm", "14 - 20"})
    check(line, 14, 20);
}

TEST_CASE("line value: what is none is not read, what begins as one is pointed at") {
  for (const char* line : {"", "red", "over", "about red", "zero", "14x"}) {
    CAPTURE(line);
    LineWords words(line);
    CHECK_FALSE(takeValue(words));
    CHECK(words.at() == 0);
  }
  for (const char* line : {"14 to red", "14 to", "20..14", "14 ± red", "..", "14..x"}) {
    CAPTURE(line);
    LineWords words(line);
    CHECK_THROWS_AS(takeValue(words), BadInput);
  }
  LineWords words("14 deep");
  CHECK(takeValue(words));
  CHECK(words.lower() == "deep");
}

TEST_CASE("line value: a single number says what is missing") {
  LineWords words("30 deg five");
  CHECK(takeNumber(words, "a rotation") == 30);
  CHECK(takeNumber(words, "a count") == 5);
  CHECK_THROWS_WITH_AS(
      takeNumber(words, "a gap in mm"),
      "In the question '30 deg five' the end comes too early: a gap in mm is missing.", BadInput);
  LineWords red("red");
  CHECK_THROWS_WITH_AS(takeNumber(red, "a gap in mm"),
                       "In the question 'red' \"red\" (word 1) should be a gap in mm.", BadInput);
  CHECK(withoutUnit("60..120deg") == "60..120");
  CHECK(withoutUnit("beam") == "beam");
  CHECK(withoutUnit("mm") == "mm");
}
