// SPDX-License-Identifier: Apache-2.0
#include "catalog/bolt_length.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "mesh/bad_input.h"
#include "tests/catalog/run_program.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

Panel panel(Thread thread, double panel_mm, double barrel_mm, double flange_mm = 0) {
  Panel p;
  p.set_thread(thread);
  p.set_panel_mm(panel_mm);
  p.set_barrel_mm(barrel_mm);
  p.set_flange_mm(flange_mm);
  return p;
}

BoltSeat flatSeat(double height_mm, double sigma_mm = 0) {
  BoltSeat seat;
  seat.set_kind(BoltSeat::FLAT);
  seat.mutable_seat_height_mm()->set_value(height_mm);
  seat.mutable_seat_height_mm()->set_sigma(sigma_mm);
  seat.mutable_bore_mm()->set_value(11);
  seat.mutable_recess_mm()->set_value(22);
  return seat;
}

BoltAdvice advise(double seat_mm, const Panel& p, const BoltSettings& settings = {},
                  const std::vector<BoltStock>* stock = nullptr) {
  BoltQuestion question;
  question.seats = {flatSeat(seat_mm)};
  question.panel = p;
  return adviseBolt(question, settings, stock);
}

bool warns(const BoltAdvice& advice, const std::string& word) {
  for (const std::string& warning : advice.warnings())
    if (warning.find(word) != std::string::npos) return true;
  return false;
}

BoltStock line(const std::string& length, int count) {
  BoltStock stock;
  stock.set_length(length);
  stock.set_count(count);
  return stock;
}

}  // namespace

TEST_CASE("bolt length: worked examples, M10 cap head, barrel 11, E = 1 d") {
  // Recomputed by hand from L_min = s + w + (p - b) + E and L_through = s + w + p + f with lengths
  // of ISO 888. "filling": the length that reaches through the T-nut.
  struct Row {
    double seat, panel_mm, least, chosen, through, filling, past;
  };
  for (const Row& row : {Row{12, 18, 29, 30, 30, 30, 0}, Row{22, 18, 39, 40, 40, 40, 0},
                         Row{35, 18, 52, 55, 53, 55, 2}, Row{30, 21, 50, 50, 51, 55, 4},
                         Row{47.5, 18, 64.5, 65, 65.5, 70, 4.5}}) {
    CAPTURE(row.seat);
    const Panel p = panel(M10, row.panel_mm, 11);
    BoltSettings one_diameter;
    one_diameter.engagement_mm = 10;
    const BoltAdvice a = advise(row.seat, p, one_diameter);
    CHECK(std::abs(a.least_mm() - row.least) < 1e-9);
    CHECK(std::abs(a.through_mm() - row.through) < 1e-9);
    CHECK(a.length_mm() == row.chosen);
    const BoltAdvice whole = advise(row.seat, p);
    CHECK(whole.length_mm() == row.filling);
    CHECK(std::abs(whole.past_mm() - row.past) < 1e-9);
    CHECK(whole.fills_tnut());
    CHECK(whole.engagement_mm() == 11);
  }
}

TEST_CASE("bolt length: a length that holds but does not fill the T-nut is said") {
  BoltSettings one_diameter;
  one_diameter.engagement_mm = 10;
  const BoltAdvice a = advise(30, panel(M10, 21, 11), one_diameter);
  CHECK(a.length() == "50");
  CHECK(std::abs(a.engagement_mm() - 10) < 1e-9);
  CHECK_FALSE(a.fills_tnut());
  CHECK(warns(a, "does not fill"));
}

TEST_CASE("bolt length: worked examples, 3/8-16") {
  // By hand. Panel 3/4 in (19.05), barrel 7/16 in (11.1125): s = 1 in gives 44.45 = 1 3/4 in
  // exactly; s = 25.5 needs 44.55, so 2 in; s = 70 needs 89.05 mm = 3.506 in: beyond 3 1/2 steps
  // are halves, so 4 in; s = 5 needs 24.05 mm = 0.947 in: up to 1 in steps are eighths, so 1 in.
  const Panel p = panel(INCH_3_8_16, 19.05, 11.1125);
  CHECK(advise(25.4, p).label() == "3/8-16 × 1 3/4 in");
  CHECK(advise(25.5, p).length() == "2");
  CHECK(advise(70, p).length() == "4");
  CHECK(advise(5, p).length() == "1");
  BoltSettings halves;
  halves.half_inches = true;
  CHECK(advise(30, p).length() == "2");      // 49.05 mm = 1.931 in.
  CHECK(advise(33, p).length() == "2 1/4");  // 52.05 mm = 2.049 in.
  CHECK(advise(33, p, halves).length() == "2 1/2");
}

TEST_CASE("bolt length: published dimensions and series") {
  const BoltSeries& m = boltSeries(M10);
  CHECK(m.cap_diameter_mm == 16.27);  // ISO 4762, knurled.
  CHECK(m.cap_height_mm == 10);       // ISO 4762.
  CHECK(m.cone_diameter_mm == 22.4);  // ISO 10642.
  CHECK(m.washer_diameter_mm == 20);  // ISO 7089.
  // ISO 10642: k = 6.20 for dk = 22.40; by geometry the 90 degree cone is (22.4 - 10) / 2 high.
  BoltSeat none;
  none.set_kind(BoltSeat::CONE);
  CHECK(std::abs(countedSeat_mm(none, m) - 6.2) < 1e-9);
  const BoltSeries& i = boltSeries(INCH_3_8_16);
  CHECK(std::abs(i.cap_diameter_mm - 14.27) < 0.01);  // ASME B18.3: 0.562 in.
  CHECK(std::abs(i.cap_height_mm - 9.525) < 1e-9);    // ASME B18.3: 0.375 in.
  CHECK(std::abs(i.pitch_mm - 1.5875) < 1e-9);
  // ISO 888 from memory: 5 mm steps from 20 to 70, then 10 to 160, then 20.
  std::vector<double> steps;
  for (std::size_t k = 1; k < m.lengths.size(); ++k)
    if (m.lengths[k - 1].length_mm >= 20)
      CHECK(m.lengths[k].length_mm - m.lengths[k - 1].length_mm == (m.lengths[k].length_mm <= 70 ? 5
                                                                    : m.lengths[k].length_mm <= 160
                                                                        ? 10
                                                                        : 20));
  // ASME B18.3 from memory: 1/8 in steps to 1 in, 1/4 to 3 1/2, 1/2 to 7, then 1.
  for (std::size_t k = 1; k < i.lengths.size(); ++k) {
    const double to = i.lengths[k].length_mm / 25.4, from = i.lengths[k - 1].length_mm / 25.4;
    CHECK(std::abs(to - from - (to <= 1 ? 0.125 : to <= 3.5 ? 0.25 : to <= 7 ? 0.5 : 1)) < 1e-9);
  }
}

TEST_CASE("bolt length: engagement of full strength") {
  // Machinery's Handbook, equal materials, basic sizes; recomputed: M10 5.877 mm, 3/8-16 5.514 mm.
  CHECK(std::abs(fullStrengthEngagement_mm(boltSeries(M10)) - 5.877) < 0.003);
  CHECK(std::abs(fullStrengthEngagement_mm(boltSeries(INCH_3_8_16)) - 5.514) < 0.003);
  // It bounds the number of turns from below, whatever that is set to.
  BoltSettings lax;
  lax.least_turns = 1;
  lax.engagement_mm = 5;
  CHECK(warns(advise(17, panel(M10, 18, 10), lax), "too short"));  // 30 holds 5 mm.
}

TEST_CASE("bolt length: never shorter than needed, never longer when a shorter fits") {
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

TEST_CASE("bolt length: countersunk heads count in the length") {
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

TEST_CASE("bolt length: a countersunk seat by hand gives what the scanned cone gives") {
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

TEST_CASE("bolt length: one of each head in the bag and in the stock") {
  BoltQuestion cap, sunk;
  cap.panel = sunk.panel = panel(M10, 18, 11);
  cap.seats = {flatSeat(22)};  // 40 mm.
  BoltSeat seat = flatSeat(14);
  seat.set_kind(BoltSeat::CONE);
  sunk.seats = {seat};  // 14 + 5.7 + 18 = 37.7: 40 mm as well.
  const BoltBag bag = packBolts({cap, sunk}, {});
  REQUIRE(bag.bag_size() == 2);
  CHECK(bag.bag(0).label() == "M10 × 40");
  CHECK(bag.bag(1).label() == "M10 × 40 countersunk");
  CHECK(bag.bag(0).count() == 1);
  CHECK(bag.bag(1).count() == 1);
  CHECK(boltText(bag).find("1 × M10 × 40 countersunk\n") != std::string::npos);

  std::vector<BoltStock> stock = {line("40", 3), line("40", 2)};
  stock[1].set_head(COUNTERSUNK);
  const BoltBag drawn = packBolts({cap, sunk}, {}, &stock);
  REQUIRE(drawn.bag_size() == 2);
  CHECK(drawn.bag(0).left() == 2);
  CHECK(drawn.bag(1).left() == 1);
  stock.pop_back();  // Cap heads only.
  const BoltAdvice none = adviseBolt(sunk, {}, &stock);
  CHECK(none.length().empty());
  CHECK(warns(none, "get M10 × 40 countersunk"));
  const auto run =
      runProgram({"bolts", "--seat", "14", "--head", "countersunk", "--have", "40 cap=3", "45=2"});
  CHECK(run.out.find("M10 × 45 countersunk (1 left") != std::string::npos);
}

TEST_CASE("bolt length: a stock of both threads says which is which") {
  BoltQuestion metric, inch;
  metric.panel = panel(M10, 18, 11);
  inch.panel = panel(INCH_3_8_16, 18, 11);
  metric.seats = inch.seats = {flatSeat(22)};  // 40 mm; 1.575 in, so 1 3/4.
  std::vector<BoltStock> stock = {line("40", 3), line("1 3/4", 2)};
  CHECK_THROWS_AS((void)packBolts({metric, inch}, {}, &stock), BadInput);
  CHECK(packBolts({inch}, {}, &(stock = {line("1 3/4", 2)})).bag(0).left() == 1);
  stock = {line("40", 3), line("1 3/4", 2)};
  stock[0].set_thread(M10);
  stock[1].set_thread(INCH_3_8_16);
  const BoltBag bag = packBolts({metric, inch}, {}, &stock);
  REQUIRE(bag.bag_size() == 2);
  CHECK(bag.bag(0).label() == "3/8-16 × 1 3/4 in");
  CHECK(bag.bag(0).left() == 1);
  CHECK(bag.bag(1).label() == "M10 × 40");
  CHECK(bag.bag(1).left() == 2);
  // A hold that may go onto either needs to know as well; of the other thread there is none.
  metric.assumed_panel = "lower";
  metric.elsewhere = {{"slab", inch.panel}};
  stock.pop_back();
  CHECK(adviseBolt(metric, {}, &stock).elsewhere(0).label().empty());
  stock[0].clear_thread();
  CHECK_THROWS_AS((void)adviseBolt(metric, {}, &stock), BadInput);
  const auto run =
      runProgram({"bolts", "--seat", "22", "--have", "M10 x 40=3", "3/8-16 x 1 3/4=9"});
  CHECK(run.out.find("M10 × 40 (2 left") != std::string::npos);
  CHECK(runProgram({"bolts", "--seat", "22", "--have", "M8 x 40=3"}).status == 1);
}

TEST_CASE("bolt length: a T-nut too short for six turns is no bolt's fault") {
  for (const double barrel_mm : {8.0, 9.0}) {  // Six turns of 1.5 mm are 9 mm.
    CAPTURE(barrel_mm);
    const BoltAdvice a = advise(22, panel(M10, 18, barrel_mm));
    CHECK(a.length() == "40");
    CHECK(warns(a, "no bolt cures that") == (barrel_mm < 9));
    CHECK_FALSE(warns(a, "too short to engage"));
  }
}

TEST_CASE("bolt length: the number of screws that keep a piece still can be set") {
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

TEST_CASE("bolt length: a hold that may go onto panels fixed otherwise is advised for each") {
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

TEST_CASE("bolt length: seats that do not take the bolt") {
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

TEST_CASE("bolt length: what is not known or mixed gives no length") {
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

TEST_CASE("bolt length: a doubtful seat is said only where it changes the length") {
  BoltQuestion question;
  question.panel = panel(M10, 18, 11);
  question.seats = {flatSeat(22, 0.3)};  // Needs 40.0; at + 2 sigma 40.6.
  CHECK(warns(adviseBolt(question, {}), "M10 × 45 may be needed"));
  question.seats = {flatSeat(20, 0.3)};
  CHECK(adviseBolt(question, {}).warnings().empty());
}

TEST_CASE("bolt length: stock runs down, gaps are said") {
  const std::vector<BoltStock> stock = {line("60", 1), line("40", 1)};
  BoltQuestion question;
  question.panel = panel(M10, 18, 11, 1);
  question.seats = {flatSeat(22)};
  const BoltBag bag = packBolts({question, question, question}, {}, &stock);
  CHECK(bag.bolts(0).length() == "40");
  CHECK(bag.bolts(1).length() == "60");
  CHECK(std::abs(bag.bolts(1).past_mm() - 19) < 1e-9);
  CHECK(warns(bag.bolts(1), "too long"));
  CHECK(bag.bolts(2).length().empty());
  REQUIRE(bag.bag_size() == 2);
  CHECK(bag.bag(0).label() == "M10 × 40");
  CHECK(bag.bag(0).left() == 0);
  const std::vector<BoltStock> shorts = {line("35", 9)};
  const BoltAdvice none = advise(22, question.panel, {}, &shorts);
  CHECK(none.length().empty());
  CHECK(warns(none, "get M10 × 40"));
  CHECK(warns(none, "would hold 6.0 mm"));
}

TEST_CASE("bolt length: the bag counts by length and keeps threads apart") {
  BoltQuestion a, b;
  a.panel = panel(M10, 18, 11);
  b.panel = panel(INCH_3_8_16, 19.05, 11.1125);
  a.seats = b.seats = {flatSeat(22)};
  const BoltBag bag = packBolts({a, a, b}, {});
  REQUIRE(bag.bag_size() == 2);
  CHECK(bag.bag(1).label() == "M10 × 40");
  CHECK(bag.bag(1).count() == 2);
  REQUIRE(bag.warnings_size() == 1);
  CHECK(bag.warnings(0).find("two bags") != std::string::npos);
  CHECK(bag.cautions_size() >= 2);
}

TEST_CASE("bolt length: small pieces are screwed on, the tip stays in the panel") {
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

TEST_CASE("bolt length: what cannot be is refused in a sentence") {
  CHECK_THROWS_AS(checkPanel(panel(M10, 3, 11), "Zone x"), BadInput);
  CHECK_THROWS_AS(checkPanel(panel(M10, 18, 20), "Zone x"), BadInput);
  CHECK_THROWS_AS(checkPanel(panel(M10, 18, 11, 30), "Zone x"), BadInput);
  CHECK_THROWS_AS(checkPanel(panel(M10, NAN, 11), "Zone x"), BadInput);
  CHECK_THROWS_AS(checkPanel(panel(THREAD_UNSPECIFIED, 18, 11), "Zone x"), BadInput);
  CHECK_THROWS_AS((void)threadFromText("M8"), BadInput);
  for (const char* text : {"", "x", "2 5/4", "1/0", "-3", "9999"})
    CHECK_THROWS_AS((void)boltLength_mm(M10, text), BadInput);
  CHECK(std::abs(boltLength_mm(INCH_3_8_16, "2 1/4") - 57.15) < 1e-9);
  CHECK(std::abs(boltLength_mm(INCH_3_8_16, "3/4") - 19.05) < 1e-9);
  BoltSettings deep;
  deep.engagement_mm = 12;
  CHECK_THROWS_AS((void)advise(22, panel(M10, 18, 11), deep), BadInput);
}

TEST_CASE("bolt length: judgements are settings with a name") {
  // Thread of 8 mm is 5.3 turns of 1.5 mm: too short for six, enough for five (values: by hand;
  // below, full strength of equal materials is at 5.9 mm).
  const auto run = [](const std::vector<std::string>& more) {
    std::vector<std::string> words = {"bolts", "--seat",   "15", "--panel", "18",  "--engage",
                                      "7",     "--barrel", "11", "--have",  "30=5"};
    words.insert(words.end(), more.begin(), more.end());
    return runProgram(words);
  };
  CHECK(run({}).out.find("too short to engage") != std::string::npos);
  CHECK(run({"--setting", "least_turns=5"}).out.find("too short to engage") == std::string::npos);
  CHECK(run({"--setting", "torque=5"}).err.find("least_turns") != std::string::npos);
  CHECK(run({"--setting", "torque=5"}).status == 2);
  CHECK(run({"--setting", "pilot_share=7"}).status == 2);
}
