// SPDX-License-Identifier: Apache-2.0
// How long search takes, against the targets, each mode as one table:
//   find_bench [HOLDS]                by default 100 000 holds whose numbers vary smoothly with
//                                     rotation around those of the parametric families, and lips.
//                                     Lips: 2 000 holds' worth of lips from numbers that swing with
//                                     rotation, each hold one of them with its directions
//                                     perturbed; beyond 200 000 holds only lips and whole-hold
//                                     numbers are made, to spare memory.
//   find_bench open HOLDS FOLDER      commits so many holds to a library in FOLDER, through events
//                                     as the program does (unless they are there), and times
//                                     opening it for search.
//   find_bench measured HOLDS FOLDER  fills a library with holds of the parametric families,
//   meshed,
//                                     measured and judged as the program does; goes on where an
//                                     interrupted run stopped.
//   find_bench intake FOLDER          times the intake of finished scans into that library: twins
//                                     looked for and told, then stored.
// "Processor" is the processor time of a query over both cores: what a busy machine cannot inflate
// as it does the time by the clock.
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <map>
#include <numbers>
#include <random>
#include <string>
#include <vector>

#include "catalog/ask.h"
#include "catalog/find.h"
#include "catalog/hold_rows.h"
#include "catalog/intake.h"
#include "catalog/library.h"
#include "catalog/lip_probe.h"
#include "catalog/query_text.h"
#include "catalog/search_row.h"
#include "catalog/twins.h"
#include "mesh/mesh_io.h"
#include "tests/bench/lip_recall.h"
#include "tests/bench/made_holds.h"
#include "tests/shapes/random_holds.h"
#include "tests/shapes/roughen.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using holdshelf::bench::baseLips;
using holdshelf::bench::makeHold;
using holdshelf::bench::perturbed;

namespace {

double seconds(const std::chrono::steady_clock::time_point& since) {
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - since).count();
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

double processor_ms() { return 1e3 * static_cast<double>(std::clock()) / CLOCKS_PER_SEC; }

void head() {
  std::printf("| what | matched | median ms | least ms | processor ms | target ms |\n");
  std::printf("|---|---|---|---|---|---|\n");
}

/// A line of the table; a target of 0: none is set.
template <typename Work>
void timed(const char* name, int runs, double target_ms, const Work& work) {
  std::vector<double> times, processor;
  std::int64_t matched = 0;
  for (int run = 0; run < runs; ++run) {
    const auto start = std::chrono::steady_clock::now();
    const double before_ms = processor_ms();
    matched = work(run);
    times.push_back(1e3 * seconds(start));
    processor.push_back(processor_ms() - before_ms);
  }
  std::sort(times.begin(), times.end());
  std::sort(processor.begin(), processor.end());
  std::printf("| %s | %lld | %.1f | %.1f | %.1f | ", name, static_cast<long long>(matched),
              times[times.size() / 2], times.front(), processor[processor.size() / 2]);
  if (target_ms > 0)
    std::printf("%.0f %s |\n", target_ms, times[times.size() / 2] <= target_ms ? "met" : "MISSED");
  else
    std::printf("- |\n");
  std::fflush(stdout);
}

/// Lip queries through SearchIndex::find, and how many of the ten nearest of LipIndex::nearest are
/// among those of holding the probe against every lip.
void benchLips(const SearchIndex& index, std::mt19937& random) {
  auto start = std::chrono::steady_clock::now();
  const LipIndex& lips = index.lips();
  std::printf("\nlip index: made in %.2f s, %zu curves, %.0f bytes a hold (target 1024)\n\n",
              seconds(start), lips.curves(),
              static_cast<double>(lips.bytes()) / static_cast<double>(lips.holds()));
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
  const bool million = index.size() > 200'000;
  head();
  timed("lip by example", 25, million ? 20 : 0,
        [&](int) { return index.find(like("")).matched(); });
  timed("lip by example, protrusion 30 mm or less", 25, million ? 200 : 50,
        [&](int) { return index.find(like(", protrusion at most 30")).matched(); });
  timed("lip drawn (from numbers)", 25, million ? 200 : 50,
        [&](int) { return index.find(shaped()).matched(); });
  int same = 0, asked = 0;
  for (int trial = 0; trial < (lips.holds() > 200'000 ? 3 : 20); ++trial) {
    const auto runs = lips.lipsOf(random() % lips.holds());
    const LipProbe probe = trial % 2 == 0 ? probeLike(runs[random() % runs.size()].curve)
                                          : probeDrawn(lipOfNumbers(2 + trial, 5, 35));
    same += test::sameAsTrying(lips, probe);
    asked += 10;
  }
  std::printf("\nrecall at 10 against trying every lip: %d of %d (%.3f; target 0.99)\n", same,
              asked, static_cast<double>(same) / asked);
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
  if (!Library::isIn(folder)) {
    Library library = Library::openOrCreate(folder);
    std::vector<Event> events;
    std::map<std::string, Hold> with_lips;  // An event's own are not believed: into the rows.
    for (int i = 0; i < count; ++i) {
      Hold hold = makeHold(random, i);
      Event created, scanned;
      created.set_hold(hold.id());
      created.mutable_created()->set_status(SHELF);
      scanned.set_hold(hold.id());
      *scanned.mutable_scanned() = hold.scans(0);
      *scanned.mutable_scanned()->mutable_colour() = hold.colour();
      hold.mutable_scans(0)->set_lips(perturbed(base[random() % base.size()], random));
      with_lips[hold.id()] = std::move(hold);
      events.push_back(std::move(created));
      events.push_back(std::move(scanned));
      if (events.size() >= 2000 || i + 1 == count) {
        library.commit(std::move(events));
        events.clear();
        const auto write = library.store().write();
        library.store().putHolds(HoldRows(with_lips).rows());
        write->commit();
        with_lips.clear();
      }
    }
    library.checkpoint();
    std::printf("committing %d holds: %.1f ms each\n", count, 1e3 * seconds(start) / count);
  }
  head();
  timed("opening a library for search", 5, 1000, [&](int) {
    const Library library = Library::open(folder);
    return static_cast<std::int64_t>(SearchIndex(library).size());
  });
  const Library library = Library::open(folder);
  timed("making its index of lips", 3, 0, [&](int) {
    const SearchIndex index(library);
    return static_cast<std::int64_t>(index.lips().curves());
  });
  return 0;
}

/// The number-th hold of the generator, whatever was made before it.
ExactHold numbered(int number) {
  std::mt19937 random(20310504U + 7919U * static_cast<unsigned>(number));
  return drawHold(random, number % 2 == 0 ? Family::Plain : Family::Rich);
}

int benchMeasured(int count, const char* folder) {
  Library library = Library::openOrCreate(folder);
  const auto start = std::chrono::steady_clock::now();
  const double before_ms = processor_ms();
  int made = 0;
  std::size_t words = 0, triangles = 0;
  for (int number = static_cast<int>(library.size()); number < count; ++number, ++made) {
    const ExactHold hold = numbered(number);
    const TriangleMesh mesh = meshSdf(hold.solid, hold.box_mm, 2);
    FinishedScan finished = finishMesh(mesh, {});
    words += finished.words.size();
    triangles += mesh.triangles.size();
    (void)storeScan(library, std::move(finished), {});
    if (number % 100 == 99) std::printf("%d holds\n", number + 1), std::fflush(stdout);
  }
  std::printf(
      "%d holds meshed, measured, judged and stored: %.0f s by the clock, %.0f s of "
      "processor time; on average %.0f triangles and %.1f grip words\n",
      made, seconds(start), (processor_ms() - before_ms) / 1e3,
      static_cast<double>(triangles) / std::max(1, made),
      static_cast<double>(words) / std::max(1, made));
  return 0;
}

int benchIntake(const char* folder) {
  constexpr int kRuns = 12;
  Library library = Library::open(folder);
  // New holds, and every second one a scan of a hold that is there.
  std::vector<TriangleMesh> meshes;
  std::vector<FinishedScan> finished;
  for (int i = 0; i < kRuns; ++i) {
    const ExactHold hold = numbered(i % 2 == 0 ? 1'000'000 + i : i);
    TriangleMesh mesh = meshSdf(hold.solid, hold.box_mm, 1);
    meshes.push_back(roughened(mesh, {0.05, 6, 0, static_cast<std::uint32_t>(i + 1)}));
    finished.push_back(finishMesh(meshes.back(), {}));
  }
  std::printf("%lld holds; finished scans of %zu triangles\n\n",
              static_cast<long long>(library.size()), meshes.front().triangles.size());
  head();
  std::int64_t again = 0;
  timed("intake of a finished scan (matched: holds known again)", kRuns, 300, [&](int run) {
    const auto i = static_cast<std::size_t>(run);
    const TwinList twins = twinsOfMesh(library, meshes[i], {}, {});
    again += !twins.twins().empty() && twins.twins(0).kind() == Twin::SAME ? 1 : 0;
    IntakeLabels labels;
    labels.id = "T-" + std::to_string(library.size() + 1);
    (void)storeScan(library, std::move(finished[i]), labels);
    return again;
  });
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  const std::string mode = argc > 1 ? argv[1] : "";
  if (argc > 3 && mode == "measured") return benchMeasured(std::atoi(argv[2]), argv[3]);
  if (argc > 2 && mode == "intake") return benchIntake(argv[2]);
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
    SearchEntry entry;
    entry.id = hold.id();
    entry.colour = hold.colour().name();
    entry.status = SHELF;
    entry.row = unpackSearchRow(packed.back());
    index.add(std::move(entry));
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
  head();
  for (const Case& c : cases) {
    const Query query = queryOf(c);
    timed(c.name, 25, 10, [&](int) { return index.find(query).matched(); });
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
