// SPDX-License-Identifier: Apache-2.0
#include "catalog/screw_advice.h"

#include <doctest/doctest.h>

#include <cmath>
#include <string>

#include "catalog/bolt_advice.h"
#include "tests/catalog/bolt_questions.h"
#include "tests/catalog/run_program.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("screw advice: the number of screws that keep a piece still can be set") {
  BoltSettings settings;
  settings.least_screws = 1;
  BoltQuestion chip;
  chip.panel = panel(M10, 18, 11);
  chip.seats = {flatSeat(3)};
  chip.seats[0].set_screw(true);
  CHECK(warns(adviseBolt(chip, {}), "keep a piece from turning"));
  CHECK_FALSE(warns(adviseBolt(chip, settings), "keep a piece from turning"));
  const auto set = [](const char* text) {
    return runProgram({"bolts", "--seat", "22", "--setting", text});
  };
  CHECK(set("least_screws=1").status == 0);
  CHECK(set("least_screws=1.5").err.find("whole number") != std::string::npos);
  CHECK(set("least_screws=0").status != 0);
}

TEST_CASE("screw advice: small pieces are screwed on, the tip stays in the panel") {
  BoltSeat hole = flatSeat(9);
  hole.set_screw(true);
  BoltQuestion question;
  question.seats = {hole, hole};
  question.panel = panel(M10, 18, 11);
  const BoltAdvice a = adviseBolt(question, {});
  CHECK(a.screws() == 2);
  CHECK(a.screw() == "5 × 25");  // 9 + 18 - 2 = 25.
  CHECK(a.engagement_mm() == 16);
  CHECK(std::abs(a.pilot_mm() - 3.5) < 1e-9);
  CHECK(a.warnings().empty());
  question.seats = {hole};
  CHECK(warns(adviseBolt(question, {}), "from turning"));
}
