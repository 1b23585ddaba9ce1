// SPDX-License-Identifier: Apache-2.0
// A search index that is told of changes answers as one that is made anew after each of them.
#include <doctest/doctest.h>

#include <atomic>
#include <map>
#include <random>
#include <thread>

#include "catalog/ask.h"
#include "catalog/find.h"
#include "tests/bench/made_holds.h"

using namespace holdshelf;

namespace {

Hold anyHold(int number, std::mt19937& random) {
  Hold hold = bench::makeHold(random, number);
  if (random() % 5 != 0) hold.mutable_scans(0)->set_lips(bench::baseLips(random));
  hold.set_name(random() % 2 == 0 ? "quarry ledge" : "moor chip");
  hold.set_status(random() % 6 == 0 ? RETIRED : SHELF);
  return hold;
}

/// As what happens to holds changes them: a move, a new scan, a name.
void change(Hold& hold, std::mt19937& random) {
  switch (random() % 4) {
    case 0:
      hold.set_status(hold.status() == SHELF ? RETIRED : SHELF);
      break;
    case 1:
      hold.mutable_scans(0)->set_lips(random() % 3 == 0 ? "" : bench::baseLips(random));
      break;
    case 2:
      *hold.mutable_scans(0)->mutable_shape() = bench::makeHold(random, 0).scans(0).shape();
      break;
    default:
      hold.set_name("changed " + std::to_string(random() % 10));
  }
}

std::string anyQuestion(std::mt19937& random) {
  const std::string number = std::to_string(random() % 20);
  switch (random() % 6) {
    case 0:
      return "red, edge depth over " + number;
    case 1:
      return "lip like H-" + number + ", show 5";
    case 2:
      return "lip like H-" + number + " within 1 mm";
    case 3:
      return "protrusion to " + number + " mm";  // Mostly none: the nearest misses are shown.
    case 4:
      return "lip shaped radius " + number + ".5, red";
    default:
      return "incut " + number + ".." + number + ".5, sort by id";
  }
}

std::string answer(const SearchIndex& index, const std::string& question) {
  try {
    return index.find(queryOf(question)).SerializeAsString();
  } catch (const BadInput& error) {
    return error.what();
  }
}

}  // namespace

TEST_CASE("find: an index that is told of changes answers as one made anew") {
  std::mt19937 random(20310504);
  std::vector<Hold> holds;
  for (int i = 0; i < 150; ++i) holds.push_back(anyHold(i, random));
  SearchIndex index(holds);
  if (random() % 2 == 0) (void)index.lips();
  for (int step = 0; step < 60; ++step) {
    std::vector<SearchEntry> changed;
    for (int i = 0; i < 4; ++i) {
      if (random() % 4 == 0) holds.push_back(anyHold(static_cast<int>(holds.size()), random));
      Hold& hold = random() % 3 == 0 ? holds.back() : holds[random() % holds.size()];
      change(hold, random);
      changed.push_back(searchEntry(hold));
      changed.push_back(searchEntry(holds.back()));
    }
    index.put(changed);
    REQUIRE(index.size() == holds.size());
    const SearchIndex fresh(holds);
    for (int i = 0; i < 8; ++i) {
      const std::string question = anyQuestion(random);
      CAPTURE(question);
      CAPTURE(step);
      CHECK(answer(index, question) == answer(fresh, question));
    }
  }
}

TEST_CASE("find: changes wait for searches, and these for them") {
  std::mt19937 random(3);
  std::vector<Hold> holds;
  for (int i = 0; i < 60; ++i) holds.push_back(anyHold(i, random));
  SearchIndex index(holds);
  std::atomic<bool> done = false;
  std::atomic<int> asked = 0;
  std::vector<std::thread> threads;
  for (unsigned t = 0; t < 2; ++t)
    threads.emplace_back([&, t] {
      std::mt19937 own(t);
      while (!done) {
        (void)answer(index, anyQuestion(own));
        ++asked;
      }
    });
  while (asked < 4) std::this_thread::yield();
  for (int i = 0; i < 200; ++i) {
    Hold& hold = holds[random() % holds.size()];
    change(hold, random);
    index.put({searchEntry(hold)});
  }
  done = true;
  for (auto& thread : threads) thread.join();
  const SearchIndex fresh(holds);
  for (int i = 0; i < 40; ++i) {
    const std::string question = anyQuestion(random);
    CAPTURE(question);
    CHECK(answer(index, question) == answer(fresh, question));
  }
}

TEST_CASE("find: damaged lips cost a hold its lips alone, and are named where a lip is wanted") {
  std::mt19937 random(20310504);
  std::vector<Hold> holds;
  for (int i = 0; i < 40; ++i) holds.push_back(anyHold(i, random));
  Hold damaged = holds[7];
  damaged.set_id("H-damaged");
  damaged.set_status(SHELF);
  damaged.mutable_scans(0)->set_lips("x");
  Hold without = damaged;
  without.mutable_scans(0)->clear_lips();
  SearchIndex index(holds);
  // As a running server puts it in: whatever that does, none of its questions may leave a trace.
  for (int question = 0; question < 3; ++question) {
    CHECK_NOTHROW(index.put({searchEntry(damaged)}));
    CHECK(index.size() == holds.size() + 1);
  }
  const Hold& last = holds.emplace_back(anyHold(99, random));
  index.put({searchEntry(last)});
  holds.insert(holds.end() - 1, without);
  const SearchIndex fresh(holds);
  for (int i = 0; i < 60; ++i) {
    const std::string question = anyQuestion(random);
    CAPTURE(question);
    if (question.find("lip like") == std::string::npos &&
        question.find("shaped") == std::string::npos)
      CHECK(answer(index, question) == answer(fresh, question));
  }
  const FindResult lips = index.find(queryOf("lip shaped radius 5"));
  CHECK(lips.explanation().find("damaged: H-damaged (holdshelf check --repair") !=
        std::string::npos);
  CHECK(index.find(queryOf("incut 2..3")).explanation().find("H-damaged") == std::string::npos);
  FindResult same = fresh.find(queryOf("lip shaped radius 5"));
  CHECK(lips.hits_size() == same.hits_size());
  index.put({searchEntry(without)});  // Mended: named no more.
  CHECK(answer(index, "lip shaped radius 5") == answer(fresh, "lip shaped radius 5"));
}
