// SPDX-License-Identifier: Apache-2.0
#include "catalog/number_limits.h"

#include <doctest/doctest.h>

#include <cmath>

#include "mesh/bad_input.h"
#include "tests/catalog/search_holds.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

constexpr auto kGrip = NumberGroup::Grip;

/// Edges by rotation, depth and incut.
NumberTable edges(const std::vector<std::array<float, 3>>& rows) {
  const std::size_t depth = numberKind("edge-depth")->column, incut = numberKind("incut")->column;
  NumberTable table;
  for (const auto& [rotation_deg, depth_mm, incut_deg] : rows) {
    std::vector<float> values(columnCount(kGrip), NAN);
    values[depth] = depth_mm;
    values[incut] = incut_deg;
    table.values.insert(table.values.end(), values.begin(), values.end());
    table.rotation_deg.push_back(rotation_deg);
    ++table.rows;
  }
  return table;
}

Query turned(Query query, double from_deg, double to_deg, double pull_deg = 0) {
  query.set_rotation_from_deg(from_deg);
  query.set_rotation_to_deg(to_deg);
  query.set_pull_deg(pull_deg);
  return query;
}

}  // namespace

TEST_CASE("number limits: all of one group hold in one and the same row") {
  const NumberTable table = edges({{0, 14, 10}, {90, 25, -20}, {180, 22, 12}, {270, 30, 6}});
  const NumberLimits both(ranges({{"edge-depth", "20.."}, {"incut", "5.."}}));
  CHECK(both.of(kGrip).size() == 2);
  CHECK(both.of(NumberGroup::Hold).empty());
  CHECK(both.firstRow(kGrip, table) == 2);
  CHECK(both.bestRow(kGrip, table) == 3);  // The deepest of those.
  CHECK_FALSE(both.rowFits(kGrip, table, 0));
  CHECK_FALSE(both.rowFits(kGrip, table, 1));
  CHECK(NumberLimits(ranges({{"edge-depth", "40.."}})).firstRow(kGrip, table) == -1);
  CHECK(NumberLimits(ranges({{"edge-depth", "40.."}})).bestRow(kGrip, table) == -1);
  CHECK(both.firstRow(kGrip, NumberTable()) == -1);
}

TEST_CASE("number limits: ends belong to a range, though rows are kept in steps of 1/50") {
  const NumberLimits limits(ranges({{"edge-depth", "14..14"}}));
  CHECK(limits.rowFits(kGrip, edges({{0, 14.01F, 0}}), 0));
  CHECK(limits.rowFits(kGrip, edges({{0, 13.99F, 0}}), 0));
  CHECK_FALSE(limits.rowFits(kGrip, edges({{0, 14.02F, 0}}), 0));
  CHECK_FALSE(limits.rowFits(kGrip, edges({{0, 13.98F, 0}}), 0));
  CHECK_FALSE(NumberLimits(ranges({{"incut", "..90"}})).rowFits(kGrip, edges({{0, 14, NAN}}), 0));
}

TEST_CASE("number limits: edges at the rotations asked for, turned with the pull") {
  const NumberTable table = edges({{0, 14, 10}, {90, 25, 10}});
  CHECK_FALSE(NumberLimits(Query()).limitsRotation());
  const NumberLimits right(turned({}, 80, 100));
  CHECK(right.limitsRotation());
  CHECK(right.firstRow(kGrip, table) == 1);
  CHECK(NumberLimits(turned({}, 80, 100, 90)).firstRow(kGrip, table) == 0);
  CHECK(NumberLimits(turned({}, 350, 370)).firstRow(kGrip, table) == 0);  // Through zero.
  CHECK(NumberLimits(turned({}, 10, 80)).firstRow(kGrip, table) == -1);
  NumberTable pinch;  // Has a rotation, but none that counts.
  pinch.values.assign(columnCount(NumberGroup::Pinch), 1);
  pinch.rotation_deg = {45};
  pinch.rows = 1;
  CHECK(right.rotationFits(NumberGroup::Pinch, pinch, 0));
}

TEST_CASE("number limits: a row whose first number is unknown is the best only of its like") {
  const NumberLimits limits(ranges({{"incut", "5.."}}));
  CHECK(limits.bestRow(kGrip, edges({{0, NAN, 10}, {90, 3, 10}})) == 1);
  CHECK(limits.bestRow(kGrip, edges({{0, NAN, 10}, {90, 3, 0}})) == 0);
}

TEST_CASE("number limits: what cannot be asked") {
  Query query;
  query.add_ranges()->set_number("beauty");
  CHECK_THROWS_AS(NumberLimits{query}, BadInput);
  query = ranges({{"incut", "5.."}});
  query.mutable_ranges(0)->set_to(4);
  CHECK_THROWS_AS(NumberLimits{query}, BadInput);
}

TEST_CASE("turnsOverlap: whatever whole turns the ends are off") {
  CHECK(turnsOverlap(350, 380, 10, 30));
  CHECK(turnsOverlap(10, 30, 350, 380));
  CHECK(turnsOverlap(-10, 5, 355, 356));
  CHECK(turnsOverlap(20, 20, 20, 20));
  CHECK_FALSE(turnsOverlap(350, 370, 20, 30));
  CHECK_FALSE(turnsOverlap(90, 100, 101, 200));
}
