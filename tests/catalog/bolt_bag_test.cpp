// SPDX-License-Identifier: Apache-2.0
#include "catalog/bolt_bag.h"

#include <doctest/doctest.h>

#include <cmath>
#include <string>
#include <vector>

#include "catalog/bolt_advice.h"
#include "tests/catalog/bolt_questions.h"
#include "tests/catalog/run_program.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("bolt bag: one of each head in the bag and in the stock") {
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

TEST_CASE("bolt bag: stock runs down, gaps are said") {
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

TEST_CASE("bolt bag: the bag counts by length and keeps threads apart") {
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
