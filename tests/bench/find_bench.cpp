// SPDX-License-Identifier: Apache-2.0
// How long search takes: find_bench [HOLDS], by default 100 000 holds whose numbers vary smoothly
// with rotation around those of the parametric families. Prints the index's size, the time to read
// a library's worth of rows, and the median time of typical queries.
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <numbers>
#include <random>
#include <string>
#include <vector>

#include "catalog/find.h"
#include "catalog/query_text.h"
#include "catalog/search_row.h"

using namespace holdshelf;

namespace {

double seconds(const std::chrono::steady_clock::time_point& since) {
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - since).count();
}

/// One hold: a depth, radius and slope that swing with rotation about means of their own.
Hold makeHold(std::mt19937& random, int number) {
  std::uniform_real_distribution<double> uniform(0, 1);
  constexpr const char* kColours[] = {"red",   "vivid red", "blue", "yellow", "green",
                                      "black", "purple",    "pink", "orange", "white"};
  Hold hold;
  hold.set_id("H-" + std::to_string(number));
  hold.set_status(SHELF);
  hold.mutable_colour()->set_name(kColours[random() % 10]);
  Shape& shape = *hold.add_scans()->mutable_shape();
  shape.mutable_protrusion_mm()->set_value(15 + 80 * uniform(random));
  shape.mutable_volume_mm3()->set_value(2e4 + 8e5 * uniform(random));
  const double depth = 5 + 35 * uniform(random), radius = 2 + 20 * uniform(random);
  const double slope = 50 * uniform(random) - 25, phase = 2 * std::numbers::pi * uniform(random);
  for (int step = 0; step < 72; ++step) {
    const double swing = std::cos(step * std::numbers::pi / 36 + phase);
    if (swing < -0.6) continue;  // Nothing to hold there.
    Grip& grip = *shape.add_grips();
    grip.set_rotation_deg(5 * step);
    grip.mutable_edge_depth_mm()->set_value(depth * (1 + 0.5 * swing));
    grip.mutable_lip_radius_mm()->set_value(radius * (1 - 0.3 * swing));
    grip.mutable_incut_deg()->set_value(slope + 15 * swing);
    grip.mutable_edge_width_mm()->set_value(20 + 60 * uniform(random));
    grip.set_fingers(1 + static_cast<int>(random() % 4));
  }
  return hold;
}

struct Case {
  const char* name;
  std::vector<std::pair<const char*, const char*>> ranges;
  const char* colour;
};

Query queryOf(const Case& c) {
  Query query;
  for (const auto& [number, range] : c.ranges) *query.add_ranges() = parseRange(number, range);
  if (*c.colour) query.add_colours(c.colour);
  query.set_limit(20);
  return query;
}

}  // namespace

int main(int argc, char** argv) {
  const int count = argc > 1 ? std::atoi(argv[1]) : 100'000;
  std::mt19937 random(20310504);
  std::vector<Hold> holds;
  std::vector<std::string> packed;
  std::size_t bytes = 0;
  for (int i = 0; i < count; ++i) {
    holds.push_back(makeHold(random, i));
    packed.push_back(packSearchRow(holds.back()));
    bytes += packed.back().size();
  }
  std::printf("%d holds, %.0f bytes of search row a hold (without signature)\n", count,
              static_cast<double>(bytes) / count);
  auto start = std::chrono::steady_clock::now();
  std::size_t rows = 0;
  for (const std::string& row : packed) rows += unpackSearchRow(row).numbers[1].rows;
  std::printf("unpacking all rows: %.3f s (%zu edges)\n", seconds(start), rows);
  const SearchIndex index(holds);

  const Case cases[] = {
      {"one edge number", {{"edge-depth", "12..20"}}, ""},
      {"three edge numbers",
       {{"edge-depth", "12..20"}, {"lip-radius", "..5"}, {"incut", "5.."}},
       ""},
      {"edge and low profile, red", {{"edge-depth", "12..20"}, {"protrusion", "..30"}}, "red"},
      {"whole-hold numbers", {{"protrusion", "30..40"}, {"volume", "100..200"}}, ""},
      {"nothing found", {{"edge-depth", "12..20"}, {"protrusion", "..3"}}, ""}};
  std::printf("%-28s %10s %12s\n", "query", "matched", "median ms");
  for (const Case& c : cases) {
    const Query query = queryOf(c);
    std::vector<double> times;
    std::int64_t matched = 0;
    for (int run = 0; run < 15; ++run) {
      start = std::chrono::steady_clock::now();
      matched = index.find(query).matched();
      times.push_back(1e3 * seconds(start));
    }
    std::nth_element(times.begin(), times.begin() + 7, times.end());
    std::printf("%-28s %10lld %12.2f\n", c.name, static_cast<long long>(matched), times[7]);
  }
  return 0;
}
