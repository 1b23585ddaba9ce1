// SPDX-License-Identifier: Apache-2.0
#include "catalog/bolt_faults.h"

#include <doctest/doctest.h>

#include <cmath>

#include "catalog/bolt_advice.h"
#include "catalog/recorded_bolt.h"
#include "tests/catalog/bolt_questions.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("bolt faults: a length that holds but does not fill the T-nut is said") {
  BoltSettings one_diameter;
  one_diameter.engagement_mm = 10;
  const BoltAdvice a = advise(30, panel(M10, 21, 11), one_diameter);
  CHECK(a.length() == "50");
  CHECK(std::abs(a.engagement_mm() - 10) < 1e-9);
  CHECK_FALSE(a.fills_tnut());
  CHECK(warns(a, "does not fill"));
}

TEST_CASE("bolt faults: a T-nut too short for six turns is no bolt's fault") {
  for (const double barrel_mm : {8.0, 9.0}) {  // Six turns of 1.5 mm are 9 mm.
    CAPTURE(barrel_mm);
    const BoltAdvice a = advise(22, panel(M10, 18, barrel_mm));
    CHECK(a.length() == "40");
    CHECK(warns(a, "no bolt cures that") == (barrel_mm < 9));
    CHECK_FALSE(warns(a, "too short to engage"));
  }
}

TEST_CASE("bolt faults: seats that do not take the bolt") {
  BoltQuestion question;
  question.panel = panel(M10, 18, 11);
  BoltSeat seat = flatSeat(20);
  seat.mutable_bore_mm()->set_value(9.6);
  question.seats = {seat};
  CHECK(warns(adviseBolt(question, {}), "does not pass M10"));
  seat = flatSeat(20);
  seat.mutable_recess_mm()->set_value(15.5);  // ISO 4762 heads are 16 mm, 16.27 knurled.
  question.seats = {seat};
  CHECK(warns(adviseBolt(question, {}), "too narrow for a head"));
  seat.mutable_recess_mm()->set_value(18);
  question.seats = {seat};
  CHECK(adviseBolt(question, {}).warnings().empty());
  BoltSettings washer;
  washer.washer_mm = 2;
  CHECK(warns(adviseBolt(question, washer), "washer"));
}

TEST_CASE("bolt faults: a bore that the scan does not show is a note and no fault") {
  BoltQuestion question;
  question.panel = panel(M10, 18, 11);
  BoltSeat seat = flatSeat(20);
  seat.mutable_recess_mm()->set_value(20);
  seat.mutable_bore_mm()->set_value(11);
  question.seats = {seat};
  CHECK(adviseBolt(question, {}).notes().empty());
  seat.clear_bore_mm();
  question.seats = {seat};
  const BoltAdvice advice = adviseBolt(question, {});
  REQUIRE(advice.notes_size() == 1);
  CHECK(advice.notes(0).find("bore does not show") != std::string::npos);
  CHECK(advice.warnings().empty());
  // Nor is the bolt that it takes, once recorded, called one that does not match.
  CHECK_FALSE(judgeRecorded(advice.label(), question, {}));
}

TEST_CASE("bolt faults: a doubtful seat is said only where it changes the length") {
  BoltQuestion question;
  question.panel = panel(M10, 18, 11);
  question.seats = {flatSeat(22, 0.3)};  // Needs 40.0; at + 2 sigma 40.6.
  CHECK(warns(adviseBolt(question, {}), "M10 × 45 may be needed"));
  question.seats = {flatSeat(20, 0.3)};
  CHECK(adviseBolt(question, {}).warnings().empty());
}
