// SPDX-License-Identifier: Apache-2.0
// How long search takes: find_bench [HOLDS], by default 100 000 holds whose numbers vary smoothly
// with rotation around those of the parametric families. Prints the index's size, the time to read
// a library's worth of rows, and the median time of typical queries. Lips: 2 000 holds' worth of
// lips from numbers that swing with rotation, each hold one of them with its directions perturbed;
// beyond 200 000 holds only the lips and whole-hold numbers are made, to spare memory.
// find_bench open HOLDS FOLDER commits so many holds to a library in an empty folder, through
// events as the program does, and times opening it for search.
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <numbers>
#include <random>
#include <string>
#include <vector>

#include "catalog/ask.h"
#include "catalog/find.h"
#include "catalog/lip_probe.h"
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

/// Lips of one base hold: runs around the turn whose radius and incut swing with rotation.
std::string baseLips(std::mt19937& random) {
  std::uniform_real_distribution<double> uniform(0, 1);
  const double radius = 1.5 + 14 * uniform(random), incut = 45 * uniform(random) - 25;
  const double depth = 18 + 22 * uniform(random), phase = 2 * std::numbers::pi * uniform(random);
  const int runs = 6 + static_cast<int>(random() % 13);
  std::vector<LipRun> lips;
  for (int i = 0; i < runs; ++i) {
    const double swing = std::cos(2 * std::numbers::pi * i / runs + phase);
    const double r = radius * (1 + 0.4 * swing);
    const SectionPath path = lipOfNumbers(r, incut - 15 + 15 * swing, depth + 1.2 * r);
    LipRun& run = lips.emplace_back();
    run.first_step = 72 * i / runs;
    run.steps = 72 * (i + 1) / runs - run.first_step;
    run.curve = lipCurveAt(path, path[46]);
  }
  return packLips(lips);
}

/// The same lips bent a little: directions wander by up to some 10 degrees along each curve.
std::string perturbed(std::string packed, std::mt19937& random) {
  for (std::size_t run = 1; run < packed.size(); run += kPackedRun) {
    double bend = 0;
    const double drift = (static_cast<double>(random() % 201) - 100) / 400;
    for (std::size_t i = run + 2; i < run + kPackedRun; ++i) {
      bend += drift + (static_cast<double>(random() % 101) - 50) / 60;
      packed[i] = static_cast<char>(packed[i] + static_cast<int>(std::lround(bend)));
    }
  }
  return packed;
}

/// What is kept of a hold beyond 200 000: no edges.
SearchEntry lightEntry(std::mt19937& random, int number) {
  std::uniform_real_distribution<float> uniform(0, 1);
  SearchEntry entry;
  entry.id = "H-" + std::to_string(number);
  entry.status = SHELF;
  NumberTable& own = entry.row.numbers.front();
  own.values.assign(columnCount(NumberGroup::Hold), 100 * uniform(random));
  own.values[0] = 15 + 80 * uniform(random);
  own.rotation_deg = {0};
  own.rows = 1;
  return entry;
}

template <typename Work>
void timed(const char* name, int runs, const Work& work) {
  std::vector<double> times;
  std::int64_t matched = 0;
  for (int run = 0; run < runs; ++run) {
    const auto start = std::chrono::steady_clock::now();
    matched = work(run);
    times.push_back(1e3 * seconds(start));
  }
  std::sort(times.begin(), times.end());
  std::printf("%-56s %10lld %9.2f %9.2f\n", name, static_cast<long long>(matched),
              times[times.size() / 2], times.front());
}

/// Lip queries through SearchIndex::find, and how many of the ten nearest of LipIndex::nearest are
/// among those of holding the probe against every lip.
void benchLips(const SearchIndex& index, std::mt19937& random) {
  auto start = std::chrono::steady_clock::now();
  const LipIndex& lips = index.lips();
  std::printf("lip index: made in %.2f s, %zu curves, %.0f bytes a hold\n", seconds(start),
              lips.curves(), static_cast<double>(lips.bytes()) / static_cast<double>(lips.holds()));
  const auto like = [&](const char* more) {
    return queryOf("lip like H-" + std::to_string(random() % index.size()) + more + ", show 10");
  };
  const auto shaped = [&] {
    Query query;
    LipQuery& lip = *query.mutable_lip();
    lip.set_radius_mm(2 + static_cast<double>(random() % 100) / 10);
    lip.set_incut_deg(static_cast<double>(random() % 40) - 25);
    lip.set_depth_mm(34);
    query.set_limit(10);
    return query;
  };
  std::printf("%-56s %10s %9s %9s\n", "query", "matched", "median ms", "least ms");
  timed("lip by example", 25, [&](int) { return index.find(like("")).matched(); });
  timed("lip by example, protrusion 30 mm or less", 25,
        [&](int) { return index.find(like(", protrusion at most 30")).matched(); });
  timed("lip drawn (from numbers)", 25, [&](int) { return index.find(shaped()).matched(); });
  int same = 0, asked = 0;
  for (int trial = 0; trial < (lips.holds() > 200'000 ? 3 : 20); ++trial) {
    const auto runs = lips.lipsOf(random() % lips.holds());
    const LipProbe probe = trial % 2 == 0 ? probeLike(runs[random() % runs.size()].curve)
                                          : probeDrawn(lipOfNumbers(2 + trial, 5, 35));
    const auto found = lips.nearest(probe, 10), tried = lips.nearestByTrying(probe, 10);
    for (const LipFound& f : found)
      same += std::any_of(tried.begin(), tried.end(),
                          [&](const LipFound& t) { return t.gap_mm == f.gap_mm; })
                  ? 1
                  : 0;
    asked += 10;
  }
  std::printf("recall at 10 against trying every lip: %d of %d\n", same, asked);
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

namespace {

int benchOpening(int count, const char* folder) {
  std::mt19937 random(20310504);
  std::vector<std::string> base;
  for (int i = 0; i < 2000; ++i) base.push_back(baseLips(random));
  auto start = std::chrono::steady_clock::now();
  {
    Library library = Library::openOrCreate(folder);
    std::vector<Event> events;
    for (int i = 0; i < count; ++i) {
      const Hold hold = makeHold(random, i);
      Event created, scanned;
      created.set_hold(hold.id());
      created.mutable_created()->set_status(SHELF);
      scanned.set_hold(hold.id());
      *scanned.mutable_scanned() = hold.scans(0);
      *scanned.mutable_scanned()->mutable_colour() = hold.colour();
      scanned.mutable_scanned()->set_lips(perturbed(base[random() % base.size()], random));
      events.push_back(std::move(created));
      events.push_back(std::move(scanned));
      if (events.size() >= 2000 || i + 1 == count) {
        library.commit(std::move(events));
        events.clear();
      }
    }
    library.checkpoint();
    std::printf("committing %d holds: %.1f ms each\n", count, 1e3 * seconds(start) / count);
  }
  for (int run = 0; run < 3; ++run) {
    start = std::chrono::steady_clock::now();
    const Library library = Library::open(folder);
    const SearchIndex index(library);
    std::printf("opening %zu holds for search: %.2f s\n", index.size(), seconds(start));
    start = std::chrono::steady_clock::now();
    (void)index.lips();
    std::printf("making the index of lips: %.2f s\n", seconds(start));
  }
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc > 3 && std::string(argv[1]) == "open") return benchOpening(std::atoi(argv[2]), argv[3]);
  const int count = argc > 1 ? std::atoi(argv[1]) : 100'000;
  std::mt19937 random(20310504);
  std::vector<std::string> base;
  for (int i = 0; i < 2000; ++i) base.push_back(baseLips(random));
  SearchIndex index;
  if (count > 200'000) {
    for (int i = 0; i < count; ++i) {
      SearchEntry entry = lightEntry(random, i);
      entry.row.lips = perturbed(base[random() % base.size()], random);
      index.add(std::move(entry));
    }
    std::printf("%d holds\n", count);
    benchLips(index, random);
    return 0;
  }
  std::vector<std::string> packed;
  std::size_t bytes = 0;
  for (int i = 0; i < count; ++i) {
    const Hold hold = makeHold(random, i);
    packed.push_back(packSearchRow(hold));
    bytes += packed.back().size();
    index.add(
        {hold.id(), "", "", "", hold.colour().name(), SHELF, unpackSearchRow(packed.back()), {}});
  }
  std::printf("%d holds, %.0f bytes of search row a hold (without signature, lips, mountings)\n",
              count, static_cast<double>(bytes) / count);
  const auto start = std::chrono::steady_clock::now();
  std::size_t rows = 0;
  for (const std::string& row : packed) rows += unpackSearchRow(row).numbers[1].rows;
  std::printf("unpacking all rows: %.3f s (%zu edges)\n", seconds(start), rows);

  const Case cases[] = {
      {"one edge number", {{"edge-depth", "12..20"}}, ""},
      {"three edge numbers",
       {{"edge-depth", "12..20"}, {"lip-radius", "..5"}, {"incut", "5.."}},
       ""},
      {"edge and low profile, red", {{"edge-depth", "12..20"}, {"protrusion", "..30"}}, "red"},
      {"whole-hold numbers", {{"protrusion", "30..40"}, {"volume", "100..200"}}, ""},
      {"nothing found", {{"edge-depth", "12..20"}, {"protrusion", "..3"}}, ""}};
  std::printf("%-56s %10s %9s %9s\n", "query", "matched", "median ms", "least ms");
  for (const Case& c : cases) {
    const Query query = queryOf(c);
    timed(c.name, 25, [&](int) { return index.find(query).matched(); });
  }
  SearchIndex with_lips;
  for (int i = 0; i < count; ++i) {
    SearchEntry entry = lightEntry(random, i);
    entry.row.lips = perturbed(base[random() % base.size()], random);
    with_lips.add(std::move(entry));
  }
  benchLips(with_lips, random);
  return 0;
}
