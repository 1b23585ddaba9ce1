// SPDX-License-Identifier: Apache-2.0
#include "catalog/bolt_series.h"

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "tests/catalog/bolt_questions.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("bolt series: published dimensions and series") {
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

TEST_CASE("bolt series: engagement of full strength") {
  // Machinery's Handbook, equal materials, basic sizes; recomputed: M10 5.877 mm, 3/8-16 5.514 mm.
  CHECK(std::abs(fullStrengthEngagement_mm(boltSeries(M10)) - 5.877) < 0.003);
  CHECK(std::abs(fullStrengthEngagement_mm(boltSeries(INCH_3_8_16)) - 5.514) < 0.003);
  // It bounds the number of turns from below, whatever that is set to.
  BoltSettings lax;
  lax.least_turns = 1;
  lax.engagement_mm = 5;
  CHECK(warns(advise(17, panel(M10, 18, 10), lax), "too short"));  // 30 holds 5 mm.
}
