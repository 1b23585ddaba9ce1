// SPDX-License-Identifier: Apache-2.0
#include "catalog/bolt_advice.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <string>
#include <vector>

#include "tests/catalog/bolt_questions.h"
#include "tests/catalog/run_program.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("bolt advice: never shorter than needed, never longer when a shorter fits") {
  std::mt19937 random(20261125);
  std::uniform_real_distribution<double> seat(0, 120), thick(12, 30), barrel(8, 12), share(0.5, 1);
  for (int n = 0; n < 4000; ++n) {
    const Thread thread = n % 2 == 0 ? M10 : INCH_3_8_16;
    const Panel p = panel(thread, thick(random), barrel(random), 1.5);
    BoltSettings settings;
    settings.engagement_mm = p.barrel_mm() * share(random);
    settings.washer_mm = n % 3 == 0 ? 2 : 0;
    const double s = seat(random);
    const BoltAdvice a = advise(s, p, settings);
    REQUIRE_FALSE(a.length().empty());
    const double mouth = s + settings.washer_mm + p.panel_mm() - p.barrel_mm();
    CHECK(a.length_mm() - mouth >= *settings.engagement_mm - 1e-5);
    for (const StockedLength& other : boltSeries(thread).lengths)
      if (other.length_mm < a.length_mm() - 1e-5)
        CHECK(other.length_mm - mouth < *settings.engagement_mm);
    CHECK(std::abs(a.past_mm() - (a.length_mm() - s - settings.washer_mm - p.panel_mm() - 1.5)) <
          1e-9);
    CHECK(warns(a, "too long") == (a.past_mm() > settings.past_limit_mm + 1e-6));
    CHECK(warns(a, "too short") == (a.engagement_mm() / boltSeries(thread).pitch_mm < 6 - 1e-9));
  }
}

TEST_CASE("bolt advice: countersunk heads count in the length") {
  BoltQuestion question;
  BoltSeat seat = flatSeat(12);
  seat.set_kind(BoltSeat::CONE);
  seat.mutable_cone_deg()->set_value(90);
  question.seats = {seat};
  question.panel = panel(M10, 18, 11);
  const BoltAdvice a = adviseBolt(question, {});
  CHECK(a.head() == COUNTERSUNK);
  // The head's rim lies (22.4 - 11) / 2 = 5.7 above the cone's narrow end: 12 + 5.7 + 18.
  CHECK(std::abs(a.least_mm() - 35.7) < 1e-9);
  CHECK(a.length() == "40");
  question.head = CAP;
  CHECK(warns(adviseBolt(question, {}), "does not match a cone"));
  question.seats = {flatSeat(12)};
  question.head = COUNTERSUNK;
  CHECK(warns(adviseBolt(question, {}), "does not match a flat"));
}

TEST_CASE("bolt advice: a countersunk seat by hand gives what the scanned cone gives") {
  for (const Thread thread : {M10, INCH_3_8_16}) {
    const double cone_deg = thread == M10 ? 90 : 82;  // ISO 10642; ASME B18.3, from memory.
    BoltQuestion scanned, by_hand;
    scanned.panel = by_hand.panel = panel(thread, 18, 11);
    BoltSeat seat = flatSeat(12);
    seat.set_kind(BoltSeat::CONE);
    seat.mutable_cone_deg()->set_value(cone_deg);
    seat.mutable_bore_mm()->set_value(boltSeries(thread).diameter_mm);
    scanned.seats = {seat};
    by_hand.seat_by_hand_mm = 12;
    by_hand.head = COUNTERSUNK;
    const BoltAdvice a = adviseBolt(scanned, {}), b = adviseBolt(by_hand, {});
    CHECK(std::abs(a.least_mm() - b.least_mm()) < 1e-9);
    CHECK(a.label() == b.label());
    CHECK(b.seat_height_mm().value() == 12);
    // A scan that has the cone but not its height, as well as one that is overruled.
    seat.mutable_bore_mm()->set_value(11);
    scanned.seats = by_hand.seats = {seat};
    CHECK(std::abs(adviseBolt(scanned, {}).least_mm() - adviseBolt(by_hand, {}).least_mm()) < 1e-9);
    by_hand.seats[0].mutable_seat_height_mm()->set_value(30);
    CHECK(std::abs(adviseBolt(scanned, {}).least_mm() - adviseBolt(by_hand, {}).least_mm()) < 1e-9);
    by_hand.head = CAP;
    by_hand.seats.clear();
    CHECK(std::abs(adviseBolt(by_hand, {}).least_mm() - 30) < 1e-9);  // 12 + 18.
  }
  // 12 + 6.2 (k of ISO 10642) + 18 = 36.2.
  const auto run = runProgram({"bolts", "--seat", "12", "--head", "countersunk"});
  CHECK(run.out.find("M10 × 40 countersunk") != std::string::npos);
  CHECK(run.out.find("36.2") != std::string::npos);
  CHECK(runProgram({"bolts", "--help"}).out.find("narrow end of the cone") != std::string::npos);
}

TEST_CASE("bolt advice: a hold that may go onto panels fixed otherwise is advised for each") {
  BoltQuestion question;
  question.seats = {flatSeat(17)};
  question.panel = panel(M10, 18, 11);  // 17 + 18 = 35.
  question.assumed_panel = "lower";
  question.elsewhere = {{"top", panel(M10, 21, 11)},                    // 38: 40.
                        {"slab", panel(INCH_3_8_16, 19.05, 11.1125)}};  // 36.05 mm = 1.42 in.
  const BoltAdvice a = adviseBolt(question, {});
  CHECK(a.label() == "M10 × 35");
  CHECK(a.assumed_panel() == "lower");
  REQUIRE(a.elsewhere_size() == 2);
  CHECK(a.elsewhere(0).label() == "M10 × 40");
  CHECK(a.elsewhere(1).label() == "3/8-16 × 1 1/2 in");
  CHECK(warns(a, "on lower it takes M10 × 35, on top M10 × 40, on slab 3/8-16 × 1 1/2 in"));
  std::vector<BoltStock> stock = {line("35", 1), line("40", 1)};
  for (BoltStock& some : stock) some.set_thread(M10);
  CHECK(adviseBolt(question, {}, &stock).elsewhere(0).label() == "M10 × 40");
  question.elsewhere = {{"top", panel(M10, 18, 11, 1)}};  // Another flange, the same bolt.
  CHECK(adviseBolt(question, {}).warnings().empty());
}

TEST_CASE("bolt advice: what is not known or mixed gives no length") {
  BoltQuestion question;
  question.panel = panel(M10, 18, 11);
  const BoltAdvice unknown = adviseBolt(question, {});
  CHECK(unknown.length().empty());
  CHECK(warns(unknown, "by hand"));
  question.seat_by_hand_mm = 22;
  CHECK(adviseBolt(question, {}).length() == "40");
  CHECK(adviseBolt(question, {}).seat_by_hand());
  question.bolts = INCH_3_8_16;
  const BoltAdvice mixed = adviseBolt(question, {});
  CHECK(mixed.length().empty());
  CHECK(warns(mixed, "never mix"));
}
