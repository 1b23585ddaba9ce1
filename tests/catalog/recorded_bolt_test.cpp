// SPDX-License-Identifier: Apache-2.0
#include "catalog/recorded_bolt.h"

#include <doctest/doctest.h>

#include <cmath>

using namespace holdshelf;

namespace {

/// Panel of 18 mm, barrel 11, no flange; one flat seat of 22 mm: L_min = L_through = 40.
BoltQuestion question(Thread thread = M10, double seat_mm = 22, double sigma_mm = 0) {
  BoltQuestion q;
  q.panel.set_thread(thread);
  q.panel.set_panel_mm(18);
  q.panel.set_barrel_mm(11);
  BoltSeat& seat = q.seats.emplace_back();
  seat.set_kind(BoltSeat::FLAT);
  seat.mutable_seat_height_mm()->set_value(seat_mm);
  seat.mutable_seat_height_mm()->set_sigma(sigma_mm);
  return q;
}

std::string gradeOf(const std::string& text, const BoltQuestion& q) {
  const auto fault = judgeRecorded(text, q, {});
  return fault ? fault->grade : "";
}

}  // namespace

TEST_CASE("recorded bolt: what people write is read") {
  for (const char* text : {"M10 × 55", "M10 x 55", "m10x55", "M10*55 mm", "M10 x 1.5 x 55",
                           "M10 × 55 cap", "3 × M10 × 55", "  M10 × 55 countersunk "}) {
    CAPTURE(text);
    const auto read = readBolt(text);
    REQUIRE(read);
    CHECK(read->screws == 0);
    CHECK(read->length.length_mm == 55);
  }
  CHECK(readBolt("M10 × 55 countersunk")->head == COUNTERSUNK);
  CHECK(readBolt("M10 × 55 cap head")->head == CAP);
  CHECK(readBolt("M10 × 55")->head == BOLT_HEAD_UNSPECIFIED);
  for (const char* text : {"3/8-16 × 2 1/4 in", "3/8 x 2-1/4", "3/8-16 UNC × 2 1/4\""}) {
    CAPTURE(text);
    REQUIRE(readBolt(text));
    CHECK(std::abs(readBolt(text)->length.length_mm - 57.15) < 1e-9);  // 2.25 x 25.4.
  }
  CHECK(readBolt("2 screws 5 × 16")->screws == 2);
  CHECK(readBolt("2 screws 5 × 16")->length.length_mm == 16);
  CHECK(readBolt("2 × screw 5 × 16")->screws == 2);
  CHECK(readBolt("screw 5 x 16")->screws == 1);
  for (const char* text :
       {"", "the long one", "M10", "M10 × ", "55", "M10 × 55 in", "3/8-16 × 55 mm", "M10 × 9000"}) {
    CAPTURE(text);
    CHECK_FALSE(readBolt(text));
  }
}

TEST_CASE("recorded bolt: what is too long to be one is not read, and takes no time") {
  CHECK(readBolt("M10 \t ×  55   mm,   cap   head  ")->head == CAP);
  const std::string blanks(7800, ' ');
  // Were they read at all, the next would take a matcher that goes back for ever.
  REQUIRE_FALSE(readBolt("M10 × 55" + blanks));
  CHECK_FALSE(readBolt("M10x5" + blanks + "!"));
  CHECK_FALSE(readBolt("M10x5" + std::string(74, ' ') + "!"));
  CHECK_FALSE(readBolt("99999999999999 screws 5 × 16"));
  const auto fault = judgeRecorded("M10x5" + blanks + "!", question(), {});
  REQUIRE(fault);
  CHECK(fault->grade == "not judged");
  CHECK(fault->reason.size() < 400);
}

TEST_CASE("recorded bolt: compared with thread, engagement and what lies behind the panel") {
  // By hand from the length model: 40 fills; 35 holds 6 mm of 11, less than the six turns (9 mm) of
  // the makers' rule; 38 holds 9 mm and does not fill; 50 ends 10 mm past, 55 15 mm past.
  CHECK(gradeOf("M10 × 40", question()) == "");
  CHECK(gradeOf("M10 × 50", question()) == "");
  CHECK(gradeOf("M10 × 35", question()) == "too short");
  CHECK(gradeOf("M10 × 38", question()) == "does not fill");
  CHECK(gradeOf("M10 × 55", question()) == "too long");
  CHECK(judgeRecorded("M10 × 55", question(), {})->reason.find("15.0 mm past") !=
        std::string::npos);
  CHECK(judgeRecorded("M10 × 30", question(), {})->severity >
        judgeRecorded("M10 × 35", question(), {})->severity + 1);
  CHECK(gradeOf("3/8-16 × 2 in", question()) == "wrong thread");
  CHECK(gradeOf("M8 × 40", question()) == "wrong thread");
  CHECK(gradeOf("M10 × 40", question(INCH_3_8_16)) == "wrong thread");
  CHECK(gradeOf("3/8-16 × 1 3/4 in", question(INCH_3_8_16)) == "");  // 44.45 mm, 4.45 past.
  CHECK(gradeOf("M10 × 40 countersunk", question()) != "");          // On a flat seat.
  CHECK(gradeOf("whatever was there", question()) == "not judged");
  // A barrel of 8 mm cannot hold six turns of 1.5 mm, whatever the bolt.
  BoltQuestion shallow = question();
  shallow.panel.set_barrel_mm(8);
  CHECK(gradeOf("M10 × 40", shallow) == "short T-nut");
  // What the seat's uncertainty leaves open counts for the bolt.
  CHECK(gradeOf("M10 × 40", question(M10, 22.1)) == "does not fill");
  CHECK(gradeOf("M10 × 40", question(M10, 22.1, 0.1)) == "");
  BoltQuestion unscanned = question();
  unscanned.seats.clear();
  CHECK(gradeOf("M10 × 40", unscanned) == "not judged");
}

TEST_CASE("recorded bolt: screws by their tip and their hold in the panel") {
  // Seat 2.5, panel 18: a screw of 16 leaves 4.5 mm and holds 13.5; one of 20 leaves 0.5; of 12 it
  // holds 9.5 mm, under twice the diameter (common practice, no source).
  BoltQuestion q = question(M10, 2.5);
  q.seats[0].set_screw(true);
  q.seats.push_back(q.seats[0]);
  CHECK(gradeOf("2 screws 5 × 16", q) == "");
  CHECK(gradeOf("2 screws 5 × 20", q) == "too long");
  CHECK(gradeOf("2 screws 5 × 12", q) == "too short");
  CHECK(gradeOf("1 screw 5 × 16", q) == "too few");
  CHECK(gradeOf("M10 × 40", q) == "not judged");
  // Screws in the holes of a piece that has a bolt seat only keep it from turning.
  CHECK(gradeOf("2 screws 5 × 16", question()) == "no bolt");
  BoltQuestion both = q;
  both.seats.push_back(question().seats[0]);
  CHECK(gradeOf("1 screw 5 × 16", both) == "no bolt");
  CHECK(gradeOf("M10 × 40", both) == "");
  BoltQuestion bored = q;
  for (BoltSeat& seat : bored.seats) {
    seat.mutable_bore_mm()->set_value(5.5);
    seat.mutable_bore_mm()->set_sigma(0.1);
  }
  CHECK(gradeOf("2 screws 5 × 16", bored) == "");
  CHECK(gradeOf("2 screws 8 × 16", bored) == "too thick");
  BoltQuestion unscanned = q;
  unscanned.seats.clear();
  CHECK(gradeOf("2 screws 5 × 16", unscanned) == "not judged");
  for (const char* text : {"2 screws 5 × 20", "2 screws 5 × 12"})
    CHECK(judgeRecorded(text, q, {})->reason.find("thread") == std::string::npos);
}
