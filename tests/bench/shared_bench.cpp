// SPDX-License-Identifier: Apache-2.0
// A shared library on PostgreSQL, on a server of its own that flushes to the disk:
//   shared_bench queue [CAPTURES]  claims a second over 1, 2 and 4 workers, and what the queue
//   takes of
//                                  a rebuild of 30 s, the shortest that a capture takes
//   shared_bench large [HOLDS]     so many holds (1 000 000): filters in the database, and by
//   example
//                                  in an index that was read from it, with its recall at 10
#include <sys/resource.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <memory>
#include <string>
#include <thread>
#include <vector>

#include "catalog/ask.h"
#include "catalog/capture_queue.h"
#include "catalog/find.h"
#include "catalog/library.h"
#include "catalog/postgres_store.h"
#include "catalog/query_text.h"
#include "catalog/search_row.h"
#include "catalog/shared_find.h"
#include "tests/bench/lip_recall.h"
#include "tests/bench/made_holds.h"
#include "tests/postgres/test_server.h"

using namespace holdshelf;
using holdshelf::test::TestServer;

namespace {

using Clock = std::chrono::steady_clock;

double secondsSince(Clock::time_point start) {
  return std::chrono::duration<double>(Clock::now() - start).count();
}

/// As an intake of 36 photos is queued.
Intake usualIntake() {
  Intake intake;
  intake.set_name("Quarry ledge");
  for (int i = 0; i < 36; ++i) {
    IntakePhoto& photo = *intake.add_photos();
    photo.set_sha256(std::string(64, 'a'));
    photo.set_name("IMG_0000.jpg");
  }
  return intake;
}

int benchQueue(int captures) {
  const auto server = TestServer::flushing("256MB");
  const std::string address = server->newDatabase();
  { (void)Library::openOrCreate(address); }
  const Intake intake = usualIntake();
  std::printf(
      "| workers | queued a second | claimed and finished a second | renewals a second | of a "
      "rebuild of 30 s |\n|---|---|---|---|---|\n");
  for (const int workers : {1, 2, 4}) {
    CaptureQueue queue(borrowConnection(address));
    auto start = Clock::now();
    for (int i = 0; i < captures; ++i) queue.add(intake, "north", true);
    const double added = captures / secondsSince(start);
    start = Clock::now();
    std::vector<std::thread> threads;
    for (int w = 0; w < workers; ++w)
      threads.emplace_back([&, w] {
        CaptureQueue mine(borrowConnection(address));
        while (const auto capture = mine.claim(std::to_string(w))) mine.finish(*capture, {});
      });
    for (auto& thread : threads) thread.join();
    const double claimed = captures / secondsSince(start);
    queue.add(intake, "north", true);
    const auto one = queue.claim("w");
    start = Clock::now();
    for (int i = 0; i < 500; ++i) (void)queue.renew(*one);
    const double renewed = 500 / secondsSince(start);
    queue.finish(*one, {});
    // Of one worker: queued, claimed, prolonged twice in 30 s, finished.
    const double share = (1 / added + workers / claimed + 2 / renewed) / 30;
    std::printf("| %d | %.0f | %.0f | %.0f | %.4f %% |\n", workers, added, claimed, renewed,
                100 * share);
    std::fflush(stdout);
  }
  return 0;
}

/// Fills a store with rows as commits leave them; the events behind them would be hours of work.
void fill(Library& library, int count) {
  std::mt19937 random(20310504);
  std::vector<std::string> base;
  for (int i = 0; i < 2000; ++i) base.push_back(bench::baseLips(random));
  constexpr const char* kSites[] = {"north", "south", "east", "west"};
  const auto start = Clock::now();
  for (int from = 0; from < count; from += 1000) {
    const int size = std::min(1000, count - from);
    std::vector<Hold> holds;
    std::vector<std::string> search, bodies;
    std::vector<HoldRow> rows;
    for (int i = 0; i < size; ++i) {
      Hold& hold = holds.emplace_back(bench::makeHold(random, from + i));
      hold.mutable_scans(0)->set_lips(bench::perturbed(base[random() % base.size()], random));
      hold.set_name("hold " + std::to_string(random() % 5000));
      hold.set_bin("B" + std::to_string(random() % 2000));
      search.push_back(packSearchRow(hold));
      hold.mutable_scans(0)->mutable_shape()->clear_grips();  // Search does not read the body.
      bodies.push_back(hold.SerializeAsString());
    }
    for (int i = 0; i < size; ++i) {
      const auto k = static_cast<std::size_t>(i);
      HoldRow row;
      row.id = holds[k].id();
      row.status = holds[k].status();
      row.name = holds[k].name();
      row.bin = holds[k].bin();
      row.colour = holds[k].colour().name();
      row.site = kSites[random() % 4];
      row.protrusion_mm = holds[k].scans(0).shape().protrusion_mm().value();
      row.volume_mm3 = holds[k].scans(0).shape().volume_mm3().value();
      row.search = search[k];
      row.body = bodies[k];
      rows.push_back(row);
    }
    const auto write = library.store().write();
    library.store().putHolds(rows);
    write->commit();
  }
  std::printf("%d rows written in %.0f s\n", count, secondsSince(start));
}

template <typename Work>
void timed(const std::string& what, int runs, double target_ms, const Work& work) {
  std::vector<double> times;
  std::int64_t hits = 0;
  for (int run = 0; run < runs; ++run) {
    const auto start = Clock::now();
    hits = work();
    times.push_back(1e3 * secondsSince(start));
  }
  std::sort(times.begin(), times.end());
  const double median = times[times.size() / 2];
  std::printf("| %s | %lld | %.1f | %.1f | %.0f %s |\n", what.c_str(), static_cast<long long>(hits),
              median, times.front(), target_ms, median <= target_ms ? "met" : "MISSED");
  std::fflush(stdout);
}

/// How many of the ten nearest are those that trying every lip finds.
void recall(const LipIndex& lips, std::mt19937& random) {
  int same = 0, asked = 0;
  for (int trial = 0; trial < 5; ++trial) {
    const auto runs = lips.lipsOf(random() % lips.holds());
    const LipProbe probe = probeLike(runs[random() % runs.size()].curve);
    same += test::sameAsTrying(lips, probe);
    asked += 10;
  }
  std::printf("\nrecall at 10 against trying every lip: %d of %d\n", same, asked);
}

int benchLarge(int count) {
  const auto server = TestServer::flushing("1GB");
  const std::string address = server->newDatabase();
  Library library = Library::openOrCreate(address);
  fill(library, count);
  postgres::Connection& connection = *dynamic_cast<PostgresStore&>(library.store()).connection();
  connection.execute("VACUUM ANALYZE hold");
  const auto size = connection.run("SELECT pg_total_relation_size('hold')").integer(0, 0);
  std::printf("table and indexes: %.0f bytes a hold\n\n", double(size) / count);
  std::printf("| query | hits shown | median ms | least ms | target |\n|---|---|---|---|---|\n");
  using Ranges = std::vector<std::pair<const char*, const char*>>;
  const auto filter = [&](const char* what, const Ranges& ranges, const char* colour,
                          const char* bin) {
    timed(what, 25, 20, [&] {
      Query query;
      for (const auto& [number, range] : ranges) *query.add_ranges() = parseRange(number, range);
      if (*colour != '\0') query.add_colours(colour);
      if (*bin != '\0') query.add_bins(bin);
      query.set_limit(20);
      query.set_site("north");
      const auto result = findInDatabase(library, query);
      return result ? result->hits_size() : -1;  // -1: left to the index in memory.
    });
  };
  filter("red", {}, "red", "");
  filter("edge depth 14..20", {{"edge-depth", "14..20"}}, "", "");
  filter("three edge numbers",
         {{"edge-depth", "14..20"}, {"lip-radius", "3..8"}, {"incut", "0..10"}}, "", "");
  filter("red, edge depth 14..20, protrusion to 30",
         {{"edge-depth", "14..20"}, {"protrusion", "..30"}}, "red", "");
  filter("protrusion 40..42, volume 300..320", {{"protrusion", "40..42"}, {"volume", "300..320"}},
         "", "");
  filter("bin", {}, "", "B77");
  filter("bin, red, edge depth 10..25", {{"edge-depth", "10..25"}}, "red", "B77");
  timed("red, by id, as the page asks", 25, 20, [&] {
    Query query;
    query.add_colours("red");
    query.set_sort("id");
    query.set_limit(20);
    query.set_site("north");
    const auto result = findInDatabase(library, query);
    return result ? result->hits_size() : -1;
  });
  timed("name hold 4711", 25, 20, [&] {
    Query query;
    query.set_text("hold 4711");
    query.set_limit(20);
    const auto result = findInDatabase(library, query);
    return result ? result->hits_size() : -1;
  });
  timed("one hold by its id", 25, 20, [&] { return library.has("H-4711") ? 1 : 0; });

  auto start = Clock::now();
  const SearchIndex index(library);
  const double read_s = secondsSince(start);
  start = Clock::now();
  const LipIndex& lips = index.lips();
  rusage usage{};
  ::getrusage(RUSAGE_SELF, &usage);
  std::printf("\nread into memory in %.1f s, index of %zu lips made in %.1f s; %.1f GiB\n\n",
              read_s, lips.curves(), secondsSince(start), double(usage.ru_maxrss) / (1 << 20));
  std::mt19937 random(7);
  std::printf("| query | hits shown | median ms | least ms | target |\n|---|---|---|---|---|\n");
  timed("lip by example", 41, 50, [&] {
    return index
        .find(queryOf("lip like H-" + std::to_string(random() % index.size()) + ", show 10"))
        .hits_size();
  });
  recall(lips, random);
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  const std::string mode = argc > 1 ? argv[1] : "";
  if (mode == "queue") return benchQueue(argc > 2 ? std::atoi(argv[2]) : 1000);
  if (mode == "large") return benchLarge(argc > 2 ? std::atoi(argv[2]) : 1'000'000);
  std::printf("shared_bench queue [CAPTURES] | large [HOLDS]\n");
  return 2;
}
