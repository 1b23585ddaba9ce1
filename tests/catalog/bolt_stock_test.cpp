// SPDX-License-Identifier: Apache-2.0
#include "catalog/bolt_stock.h"

#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "catalog/bolt_advice.h"
#include "catalog/bolt_bag.h"
#include "mesh/bad_input.h"
#include "tests/catalog/bolt_questions.h"
#include "tests/catalog/run_program.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("bolt stock: a stock of both threads says which is which") {
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
