// SPDX-License-Identifier: Apache-2.0
// Marks may let through what does not match, and must not keep back what does: held against
// QueryMatcher, which reads every number of every hold.
#include "catalog/search_marks.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <random>

#include "tests/bench/made_holds.h"

using namespace holdshelf;

namespace {

bool satisfies(const std::vector<std::int32_t>& marks, const MarkLimit& limit) {
  const auto has = [&](std::int32_t mark) {
    return std::binary_search(marks.begin(), marks.end(), mark);
  };
  return limit.need == MarkLimit::Need::All
             ? std::all_of(limit.marks.begin(), limit.marks.end(), has)
             : std::any_of(limit.marks.begin(), limit.marks.end(), has);
}

bool mayMatch(const SearchEntry& entry, const Query& query) {
  const auto marks = searchMarks(entry);
  const auto limits = markLimits(query);
  return std::all_of(limits.begin(), limits.end(),
                     [&](const MarkLimit& limit) { return satisfies(marks, limit); });
}

void setMeasured(Measured& measured, double value, std::mt19937& random) {
  if (random() % 8 != 0) measured.set_value(value);  // Else it stays at 0.
}

/// With parts of every kind, and some numbers that were not measured.
Hold anyHold(int number, std::mt19937& random) {
  std::uniform_real_distribution<double> uniform(0, 1);
  constexpr const char* kWords[] = {"jug", "edge", "crimp", "pocket", "sloper", "pinch"};
  constexpr const char* kNames[] = {"Quarry ledge", "50% jug", "", "Äsche", "the lip"};
  Hold hold = bench::makeHold(random, number);
  hold.set_name(kNames[random() % 5]);
  hold.set_bin(random() % 3 == 0 ? "" : "B" + std::to_string(random() % 4));
  hold.set_set(random() % 2 == 0 ? "Blue Wave" : "Moor");
  Scan& scan = *hold.mutable_scans(0);
  for (Grip& grip : *scan.mutable_shape()->mutable_grips()) {
    if (random() % 10 == 0) grip.clear_lip_radius_mm();
    if (random() % 10 == 0) grip.clear_incut_deg();
    grip.set_lip_z_mm(5 + 40 * uniform(random));
  }
  if (random() % 3 == 0) {
    Pinch& pinch = *scan.mutable_shape()->add_pinches();
    setMeasured(*pinch.mutable_width_mm(), 20 + 60 * uniform(random), random);
    setMeasured(*pinch.mutable_taper_deg(), 60 * uniform(random) - 30, random);
  }
  if (random() % 4 == 0)
    setMeasured(*scan.mutable_shape()->add_pockets()->mutable_depth_mm(), 40 * uniform(random),
                random);
  GripWord& word = *hold.add_words();
  word.set_word(kWords[random() % 6]);
  word.set_to_deg(90);
  return hold;
}

Query anyQuery(std::mt19937& random) {
  Query query;
  const auto often = [&](unsigned of) { return random() % of == 0; };
  std::uniform_real_distribution<double> uniform(0, 1);
  const auto kinds = numberKinds();
  for (int i = 0; i < 2; ++i) {
    if (!often(2)) continue;
    Range& range = *query.add_ranges();
    const NumberKind& kind = kinds[random() % kinds.size()];
    range.set_number(kind.flag);
    const double middle = kind.tolerance * (12 * uniform(random) - 1);
    if (!often(3)) range.set_from(middle);
    if (!range.has_from() || often(2)) range.set_to(middle + 4 * kind.tolerance * uniform(random));
  }
  if (often(2)) {
    Range& range = *query.add_ranges();
    range.set_number("edge-depth");
    range.set_from(40 * uniform(random));
    if (often(2)) range.set_to(range.from() + 10 * uniform(random));
  }
  constexpr const char* kColours[] = {"RED", "vivid red", "blue", "Green"};
  constexpr const char* kTexts[] = {"LEDGE", "h-1", "%", "e l", "ä", "7", "dge"};
  if (often(4)) query.add_colours(kColours[random() % 4]);
  if (often(4)) query.add_words(often(2) ? "crimp" : "pinch");
  if (often(5)) query.add_bins(often(2) ? "b1" : "");
  if (often(5)) query.add_sets("blue wave");
  if (often(4)) query.set_text(kTexts[random() % 7]);
  return query;
}

}  // namespace

TEST_CASE("search marks: no hold that matches is kept back, and most of the others are") {
  std::mt19937 random(7);
  std::vector<SearchEntry> entries;
  for (int i = 0; i < 300; ++i) entries.push_back(searchEntry(anyHold(i, random)));
  int matching = 0, others = 0, kept_back = 0;
  for (int i = 0; i < 300; ++i) {
    const Query query = anyQuery(random);
    CAPTURE(query.ShortDebugString());
    const QueryMatcher matcher(query);
    for (const SearchEntry& entry : entries) {
      const bool may = mayMatch(entry, query);
      if (!matcher.matches(entry)) {
        ++others;
        kept_back += may ? 0 : 1;
        continue;
      }
      ++matching;
      CAPTURE(entry.id);
      CHECK(may);
    }
  }
  CHECK(matching > 5000);
  CHECK(kept_back > others * 8 / 10);
}

TEST_CASE("search marks: depth, radius and incut are those of one rotation") {
  Hold hold;
  Shape& shape = *hold.add_scans()->mutable_shape();
  for (const auto& [depth, radius] : {std::pair(12.0, 15.0), std::pair(30.0, 2.5)}) {
    Grip& grip = *shape.add_grips();
    grip.mutable_edge_depth_mm()->set_value(depth);
    grip.mutable_lip_radius_mm()->set_value(radius);
    grip.mutable_incut_deg()->set_value(2);
  }
  const SearchEntry entry = searchEntry(hold);
  const auto asked = [](double depth, double radius) {
    Query query;
    for (const auto& [number, at] :
         {std::pair("edge-depth", depth), std::pair("lip-radius", radius)}) {
      Range& range = *query.add_ranges();
      range.set_number(number);
      range.set_from(at - 0.1);
      range.set_to(at + 0.1);
    }
    return query;
  };
  CHECK(mayMatch(entry, asked(12, 15)));
  CHECK(mayMatch(entry, asked(30, 2.5)));
  CHECK_FALSE(mayMatch(entry, asked(12, 2.5)));
  CHECK_FALSE(mayMatch(entry, asked(30, 15)));
}

TEST_CASE("search marks: a value that a limit falls on is within it, as rows are rounded") {
  const NumberKind& protrusion = *numberKind("protrusion");
  for (int tenths = 100; tenths < 400; ++tenths) {
    Hold hold;
    hold.add_scans()->mutable_shape()->mutable_protrusion_mm()->set_value(tenths / 10.0);
    Query query;
    Range& range = *query.add_ranges();
    range.set_number(protrusion.flag);
    range.set_from(tenths / 10.0);
    range.set_to(tenths / 10.0);
    CAPTURE(tenths);
    CHECK(mayMatch(searchEntry(hold), query));
    range.set_from(tenths / 10.0 + 2 * protrusion.tolerance);
    range.set_to(range.from());
    CHECK_FALSE(mayMatch(searchEntry(hold), query));
  }
}

TEST_CASE("search marks: hands and feet, by the wall angles on either side") {
  SearchEntry entry;
  entry.most_use.hand.fill(60);  // 0.3 of a jug
  entry.most_use.hand[4] = 160;  // 0.8 at 20 degrees
  entry.most_use.foot[2] = 100;  // at 0 degrees
  const auto asks = [&](double wall_deg, double force, bool foot) {
    Query query;
    query.set_wall_angle_deg(wall_deg);
    if (force > 0) query.set_grip_force_from(force);
    query.set_foot(foot);
    return mayMatch(entry, query);
  };
  CHECK(asks(20, 0.8, false));
  CHECK(asks(25, 0.5, false));
  CHECK_FALSE(asks(35, 0.5, false));
  CHECK_FALSE(asks(20, 0.9, false));
  CHECK(asks(0, 0, true));
  CHECK(asks(9, 0, true));
  CHECK_FALSE(asks(20, 0, true));
}
