// SPDX-License-Identifier: Apache-2.0
// A shared library on PostgreSQL, on a server of its own that flushes to the disk:
//   shared_bench queue [CAPTURES]
//     claims a second over 1, 2 and 4 workers, and what the queue takes of a rebuild of 30 s, the
//     shortest that a capture takes
//   shared_bench large [HOLDS [ADDRESS]]
//     so many holds (1 000 000): filters in the database; by example in an index that was read from
//     it, with its recall at 10; and an edit of one hold. ADDRESS: a database of one's own, filled
//     where it is empty, for several runs on the same holds
#include <sys/resource.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <fstream>
#include <memory>
#include <string>
#include <thread>
#include <vector>

#include "catalog/ask.h"
#include "catalog/capture_queue.h"
#include "catalog/find.h"
#include "catalog/library.h"
#include "catalog/postgres_pool.h"
#include "catalog/postgres_store.h"
#include "catalog/query_text.h"
#include "catalog/search_marks.h"
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
      // Of ten holds three crimps and a jug; no pockets.
      const auto word = random() % 10;
      if (word < 4) hold.add_words()->set_word(word == 0 ? "jug" : "crimp");
      search.push_back(packSearchRow(hold));
      // Search does not read the body; like a real one it stands beside its row.
      std::string& body = bodies.emplace_back(2100, '\0');
      for (char& byte : body) byte = static_cast<char>(random());
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
      row.marks = searchMarks(searchEntry(row));
      rows.push_back(row);
    }
    const auto write = library.store().write();
    library.store().putHolds(rows);
    write->commit();
  }
  std::printf("%d rows written in %.0f s\n", count, secondsSince(start));
}

/// Of the server's process for our connection; 0: none yet.
std::int64_t backend_pid = 0;

/// Processor time that this process and its server have used: what a question takes where nothing
/// else runs, whatever else does run.
double processor_ms() {
  timespec own{};
  ::clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &own);
  double server_ns = 0;  // The first number in there.
  if (backend_pid != 0)
    std::ifstream("/proc/" + std::to_string(backend_pid) + "/schedstat") >> server_ns;
  return 1e3 * static_cast<double>(own.tv_sec) + 1e-6 * static_cast<double>(own.tv_nsec) +
         1e-6 * server_ns;
}

double median(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

constexpr const char* kTimedHeader =
    "| query | hits shown | median ms | least ms | processor ms | target |\n"
    "|---|---|---|---|---|---|\n";

template <typename Work>
void timed(const std::string& what, int runs, double target_ms, const Work& work) {
  std::vector<double> times, processor;
  std::int64_t hits = 0;
  for (int run = 0; run < runs; ++run) {
    const double used = processor_ms();
    const auto start = Clock::now();
    hits = work();
    times.push_back(1e3 * secondsSince(start));
    processor.push_back(processor_ms() - used);
  }
  std::printf("| %s | %lld | %.1f | %.1f | %.1f | %.0f %s |\n", what.c_str(),
              static_cast<long long>(hits), median(times),
              *std::min_element(times.begin(), times.end()), median(processor), target_ms,
              median(times) <= target_ms ? "met" : "MISSED");
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

/// Hits, at site north; -1: left to the index in memory.
std::int64_t shown(const Library& library, Query query) {
  query.set_limit(20);
  query.set_site("north");
  const auto result = findInDatabase(library, query);
  return result ? result->hits_size() : -1;
}

/// Questions of one to four limits drawn at random, each asked once.
void mixture(const Library& library) {
  std::mt19937 random(42);
  const auto often = [&](unsigned of) { return random() % of == 0; };
  std::vector<double> times, of_none, processor, processor_of_none;
  int left = 0;
  for (int i = 0; i < 400; ++i) {
    Query query;
    const auto range = [&](const char* number, double least, double most, double widest) {
      std::uniform_real_distribution<double> from(least, most), width(0, widest);
      Range& r = *query.add_ranges();
      r.set_number(number);
      r.set_from(from(random));
      r.set_to(r.from() + width(random));
    };
    if (often(2)) query.add_colours(often(2) ? "red" : "blue");
    if (often(2)) range("edge-depth", 5, 45, 10);
    if (often(3)) range("lip-radius", 1, 20, 5);
    if (often(4)) range("incut", -30, 30, 10);
    if (often(3)) range("protrusion", 15, 90, 10);
    if (often(5)) range("volume", 20, 800, 100);
    if (often(4)) query.add_words(often(3) ? "jug" : often(4) ? "pocket" : "crimp");
    if (often(8)) query.add_bins("B" + std::to_string(random() % 2000));
    if (often(10)) query.set_text("d " + std::to_string(random() % 5000));
    const double used = processor_ms();
    const auto start = Clock::now();
    const std::int64_t hits = shown(library, query);
    (hits > 0 ? times : of_none).push_back(1e3 * secondsSince(start));
    (hits > 0 ? processor : processor_of_none).push_back(processor_ms() - used);
    left += hits < 0 ? 1 : 0;
  }
  const auto nineOfTen = [](std::vector<double> values) {
    std::sort(values.begin(), values.end());
    return values[values.size() * 9 / 10];
  };
  const auto say = [&](const char* which, const std::vector<double>& wall,
                       const std::vector<double>& used) {
    std::printf(
        "| %zu questions at random, %s | | %.1f | %.1f | %.1f | 20; nine of ten within %.1f, "
        "processor %.1f |\n",
        wall.size(), which, median(wall), *std::min_element(wall.begin(), wall.end()), median(used),
        nineOfTen(wall), nineOfTen(used));
  };
  say("with hits", times, processor);
  say("without", of_none, processor_of_none);
  std::printf("| of those left to the index in memory | %d | | | | |\n", left);
}

/// A hold with another name, one with other lips: into the row, and into the index in memory.
void editOne(Library& library, SearchIndex& index, std::mt19937& random) {
  std::printf("\nan edit of one hold\n\n%s", kTimedHeader);
  Hold hold = bench::makeHold(random, 500'000);
  timed("its row with its marks, committed to the disk", 25, 20, [&] {
    hold.set_name("renamed " + std::to_string(random()));
    const std::string search = packSearchRow(hold);
    HoldRow row;
    row.id = hold.id();
    row.status = hold.status();
    row.name = hold.name();
    row.colour = hold.colour().name();
    row.search = search;
    row.marks = searchMarks(searchEntry(row));
    const auto write = library.store().write();
    library.store().putHolds({row});
    write->commit();
    return 1;
  });
  timed("the index in memory: another name", 25, 20, [&] {
    hold.set_name("renamed " + std::to_string(random()));
    index.put({searchEntry(hold)});
    return 1;
  });
  timed("the index in memory: other lips", 25, 20, [&] {
    hold.mutable_scans(0)->set_lips(bench::baseLips(random));
    index.put({searchEntry(hold)});
    return 1;
  });
  timed("lip by example after that", 41, 50, [&] {
    return index
        .find(queryOf("lip like H-" + std::to_string(random() % index.size()) + ", show 10"))
        .hits_size();
  });
}

int benchLarge(int count, std::string address) {
  std::unique_ptr<TestServer> server;
  if (address.empty()) {
    server = TestServer::flushing("1GB");
    address = server->newDatabase();
  }
  Library library = Library::openOrCreate(address);
  if (library.store().lastKey() == 0) fill(library, count);
  postgres::Connection& connection = *dynamic_cast<PostgresStore&>(library.store()).connection();
  connection.execute("VACUUM ANALYZE hold");
  backend_pid = connection.run("SELECT pg_backend_pid()").integer(0, 0);
  const auto size = connection.run("SELECT pg_total_relation_size('hold')").integer(0, 0);
  std::printf("table and indexes: %.0f bytes a hold\n\n", double(size) / count);
  std::fputs(kTimedHeader, stdout);
  for (const char* question :
       {"red", "edge depth 14..20 mm", "edge depth 14..20 mm, lip radius 3..8 mm, incut 0..10",
        "red, edge depth 14..20 mm, protrusion under 30 mm",
        "protrusion 40..42 mm, volume 300..320", "bin B77", "bin B77, red, edge depth 10..25 mm",
        "crimp, red, protrusion 40..41 mm",
        "edge depth 44..45 mm, lip radius under 2.5 mm, incut over 20", "pocket",
        "bin B77, red, pocket", "red, protrusion under 30 mm, pocket",
        "protrusion under 15.1 mm, volume 800..801, edge depth over 50 mm"})
    timed(question, 25, 20, [&] { return shown(library, queryOf(question)); });
  timed("red, sorted by id, as the page asks", 25, 20, [&] {
    Query query = queryOf("red");
    query.set_sort("id");
    return shown(library, query);
  });
  for (const char* text : {"hold 4711", "ld 47", "old 49999", "ledge", "H-4711", "7"})
    timed(std::string("name or id with \"") + text + "\"", 25, 20, [&] {
      Query query = queryOf("");
      query.set_text(text);
      return shown(library, query);
    });
  mixture(library);
  timed("one hold by its id", 25, 20, [&] { return library.has("H-4711") ? 1 : 0; });

  auto start = Clock::now();
  SearchIndex index(library);
  const double read_s = secondsSince(start);
  start = Clock::now();
  const LipIndex& lips = index.lips();
  rusage usage{};
  ::getrusage(RUSAGE_SELF, &usage);
  std::printf("\nread into memory in %.1f s, index of %zu lips made in %.1f s; %.1f GiB\n\n",
              read_s, lips.curves(), secondsSince(start), double(usage.ru_maxrss) / (1 << 20));
  std::mt19937 random(7);
  std::fputs(kTimedHeader, stdout);
  timed("lip by example", 41, 50, [&] {
    return index
        .find(queryOf("lip like H-" + std::to_string(random() % index.size()) + ", show 10"))
        .hits_size();
  });
  editOne(library, index, random);
  recall(lips, random);
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  const std::string mode = argc > 1 ? argv[1] : "";
  if (mode == "queue") return benchQueue(argc > 2 ? std::atoi(argv[2]) : 1000);
  if (mode == "large")
    return benchLarge(argc > 2 ? std::atoi(argv[2]) : 1'000'000, argc > 3 ? argv[3] : "");
  std::printf("shared_bench queue [CAPTURES] | large [HOLDS [ADDRESS]]\n");
  return 2;
}
