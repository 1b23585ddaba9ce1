// SPDX-License-Identifier: Apache-2.0
#include "catalog/bolt_length.h"

#include <doctest/doctest.h>

#include <cmath>
#include <string>
#include <vector>

#include "mesh/bad_input.h"
#include "tests/catalog/bolt_questions.h"
#include "tests/catalog/run_program.h"

using namespace holdshelf;
using namespace holdshelf::test;

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
