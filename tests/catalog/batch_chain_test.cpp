// SPDX-License-Identifier: Apache-2.0
#include "catalog/batch_chain.h"

#include <doctest/doctest.h>

#include "catalog/library.h"
#include "catalog/library_merge.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

Event numbered(std::int64_t number) {
  Event event;
  event.set_number(number);
  event.set_hold("H-0001");
  event.set_at("2026-01-02T03:04:05Z");
  event.set_noted(std::to_string(number));
  return event;
}

Batch batch(const std::string& previous, std::initializer_list<std::int64_t> numbers) {
  Batch batch;
  batch.set_previous(previous);
  for (const std::int64_t number : numbers) *batch.add_events() = numbered(number);
  return batch;
}

/// All batches of a library with `commits` commits of one note each.
StoredBatches batchesOf(const Library& library) {
  StoredBatches batches;
  for (const std::string& name : library.store().batches())
    batches[name] = *asBatch(library.blobs().get(name));
  return batches;
}

Library libraryOf(const TempFolder& folder, int commits) {
  Library library = Library::openOrCreate(folder / "l");
  for (int i = 0; i < commits; ++i) {
    Event created;
    created.mutable_created()->set_count(1);
    library.commit({created});
  }
  return library;
}

}  // namespace

TEST_CASE("asBatch: what begins as a batch and is one") {
  const std::string name(64, 'a');
  for (const std::string& previous : {std::string(), name}) {
    const auto read = asBatch(batch(previous, {1, 2}).SerializeAsString());
    REQUIRE(read);
    CHECK(read->previous() == previous);
    CHECK(read->events_size() == 2);
  }
  CHECK_FALSE(asBatch(""));
  CHECK_FALSE(asBatch("ply\nformat"));
  CHECK_FALSE(asBatch("\xff\xd8\xff"));
  CHECK_FALSE(asBatch(batch(name, {}).SerializeAsString()));        // No event.
  CHECK_FALSE(asBatch(batch("no name", {1}).SerializeAsString()));  // Not 64 digits.
  CHECK_FALSE(asBatch(batch(name, {0}).SerializeAsString()));       // Not numbered.
  std::string cut = batch(name, {1, 2}).SerializeAsString();
  cut.pop_back();
  CHECK_FALSE(asBatch(cut));
}

TEST_CASE("chainOf: without a database the chain with most events") {
  StoredBatches batches;
  batches["a"] = batch("", {1});
  batches["b"] = batch("a", {2});
  batches["c"] = batch("a", {2, 3});  // Beside b.
  batches["d"] = batch("b", {3, 4});
  batches["e"] = batch("lost", {9, 10, 11, 12});
  CHECK(chainOf(batches, nullptr) == std::vector<std::string>{"a", "b", "d"});
  batches["f"] = batch("c", {4, 5});
  CHECK(chainOf(batches, nullptr) == std::vector<std::string>{"a", "c", "f"});
  CHECK(chainOf({}, nullptr).empty());
}

TEST_CASE("chainOf: without a database a batch with successors counts before a larger leaf") {
  StoredBatches batches;
  batches["a"] = batch("", {1});
  batches["x"] = batch("a", {2, 3, 4, 5, 6, 7, 8, 9});  // Cut off.
  batches["b"] = batch("a", {2});
  CHECK(chainOf(batches, nullptr) == std::vector<std::string>{"a", "x"});
  CHECK(rivalsOf(batches, {"a", "x"}).empty());  // It says what b says.
  batches["b"].mutable_events(0)->set_noted("otherwise");
  CHECK(rivalsOf(batches, {"a", "x"}) == std::vector<std::string>{"b"});
  batches["c"] = batch("b", {3});
  CHECK(chainOf(batches, nullptr) == std::vector<std::string>{"a", "b", "c"});
  CHECK(rivalsOf(batches, {"a", "b", "c"}).empty());
}

TEST_CASE("chainOf: of two leaves the later one, as far as can be told") {
  StoredBatches batches;
  batches["a"] = batch("", {1});
  for (const char* name : {"x", "y", "z"}) {
    batches[name] = batch("a", {2});
    batches[name].mutable_events(0)->set_noted(name);
  }
  batches["x"] = batch("a", {2, 3, 4});
  batches["y"].mutable_events(0)->set_at("2026-01-02T03:04:06Z");
  CHECK(chainOf(batches, nullptr) == std::vector<std::string>{"a", "y"});
  CHECK(rivalsOf(batches, {"a", "y"}) == std::vector<std::string>{"x", "z"});
}

TEST_CASE("chainOf: a leaf that a copy lists was stored") {
  StoredBatches batches;
  batches["a"] = batch("", {1});
  batches["b"] = batch("a", {2});
  batches["x"] = batch("a", {2, 3, 4});
  batches["x"].mutable_events(0)->set_at("2031-01-02T03:04:05Z");
  CHECK(chainOf(batches, nullptr) == std::vector<std::string>{"a", "x"});
  CHECK(chainOf(batches, nullptr, {"a", "b"}) == std::vector<std::string>{"a", "b"});
  TempFolder folder;
  const Library library = libraryOf(folder, 2);
  auto listed = library.store().batches();
  StoredBatches stored = batchesOf(library);
  stored["y"] = batch(listed.back(), {3});
  stored["z"] = batch(listed.back(), {3, 4});
  stored["z"].mutable_events(0)->set_noted("otherwise");
  CHECK(chainOf(stored, &library.store()) == listed);
  CHECK(chainOf(stored, &library.store(), {listed[0]}) == listed);
  listed.emplace_back("y");
  CHECK(chainOf(stored, &library.store(), {"y"}) == listed);
}

TEST_CASE(
    "chainOf: one batch of all events, as a repair writes it, before what it took the place of") {
  StoredBatches batches;
  batches["a"] = batch("", {1});
  batches["b"] = batch("a", {2});
  batches["d"] = batch("lost", {4});
  batches["r"] = batch("", {1, 2, 3, 4});
  CHECK(chainOf(batches, nullptr) == std::vector<std::string>{"r"});
  batches["x"] = batch("b", {3, 4, 5, 6, 7, 8});  // Cut off before.
  batches["x"].mutable_events(0)->set_noted("otherwise");
  CHECK(chainOf(batches, nullptr) == std::vector<std::string>{"r"});
  CHECK(sideBranches(batches, {"r"}, {numbered(1), numbered(2), numbered(3), numbered(4)}).empty());
  CHECK(lostLinks(batches, {numbered(1), numbered(2), numbered(3), numbered(4)}).empty());
}

TEST_CASE("chainOf: many batches, and many that were cut off, in little time") {
  StoredBatches batches;
  std::string last;
  std::vector<std::string> chain;
  for (std::int64_t i = 1; i <= 20'000; ++i) {
    const std::string name = "b" + std::to_string(i);
    batches[name] = batch(last, {i});
    if (i % 500 == 0) {
      batches["x" + std::to_string(i)] = batch(last, {i, i + 1});
      batches["x" + std::to_string(i)].mutable_events(0)->set_noted("otherwise");
    }
    chain.push_back(last = name);
  }
  CHECK(chainOf(batches, nullptr) == chain);
}

TEST_CASE("chainOf: a batch that is lost is not replaced by one that was cut off beside it") {
  TempFolder folder;
  const Library library = libraryOf(folder, 3);
  const auto listed = library.store().batches();
  StoredBatches batches = batchesOf(library);
  batches.erase(listed[2]);
  batches["x"] = batch(listed[1], {3, 4, 5});
  CHECK(chainOf(batches, &library.store()) == std::vector<std::string>{listed[0], listed[1]});
  batches["y"] = batch("x", {6});  // Nor by another history.
  CHECK(chainOf(batches, &library.store()) == std::vector<std::string>{listed[0], listed[1]});
}

TEST_CASE("chainOf: what the list of batches has lost and the events have not") {
  TempFolder folder;
  const Library library = libraryOf(folder, 4);
  const auto listed = library.store().batches();
  StoredBatches batches = batchesOf(library);
  batches["x"] = batch(listed[1], {3, 4, 5});
  const std::string second = "(SELECT min(number) + 1 FROM batch)";
  for (const std::string& lost :
       {"number = " + second, "number > " + second, std::string("number > 0")}) {
    CAPTURE(lost);
    sqlite::Database(folder / "l" / "holdshelf.sqlite", sqlite::Database::Access::ReadWrite)
        .execute("DELETE FROM batch WHERE " + lost);
    CHECK(chainOf(batches, &library.store()) == listed);
  }
  batches["z"] = batches[listed[3]];  // The beginning of a larger one, cut off.
  *batches[listed[3]].add_events() = numbered(5);
  sqlite::Database(folder / "l" / "holdshelf.sqlite", sqlite::Database::Access::ReadWrite)
      .execute("INSERT INTO event SELECT 5, hold, at, who, body FROM event WHERE number = 4");
  const std::string fifth = numbered(5).SerializeAsString();
  sqlite::Statement(library.database(), "UPDATE event SET body = ? WHERE number = 5")
      .bindBlob(1, fifth)
      .run();
  CHECK(chainOf(batches, &library.store()) == listed);
}

TEST_CASE("sideBranches: a history beside the chain, unless its events are there, also merged") {
  StoredBatches batches;
  batches["a"] = batch("", {1});
  batches["b"] = batch("a", {2});
  batches["c"] = batch("b", {3});
  batches["x"] = batch("a", {12, 13});
  CHECK(sideBranches(batches, {"a", "b", "c"}, {numbered(1), numbered(2), numbered(3)}).empty());
  const auto listed = sideBranches(batches, {"a", "b", "c"}, {numbered(1), numbered(2)}, {"x"});
  REQUIRE(listed.size() == 1);  // A copy lists it.
  CHECK(listed[0].events == 2);
  batches["y"] = batch("x", {14});
  const auto branches =
      sideBranches(batches, {"a", "b", "c"}, {numbered(1), numbered(2), numbered(3)});
  REQUIRE(branches.size() == 1);
  CHECK(branches[0].first == "x");
  CHECK(branches[0].instead == "b");
  CHECK(branches[0].batches == 2);
  CHECK(branches[0].events == 3);
  std::vector<Event> events = {numbered(1), numbered(2), numbered(3)};
  for (const std::int64_t number : {12, 13, 14}) {
    Event merged = numbered(number);
    merged.set_origin(originOf(numbered(number)));
    merged.set_number(number + 100);
    merged.set_hold("H-0100");
    events.push_back(merged);
  }
  CHECK(sideBranches(batches, {"a", "b", "c"}, events).empty());
}

TEST_CASE("chainOf: what the database lists; one batch beyond was cut off, two it has lost") {
  TempFolder folder;
  const Library library = libraryOf(folder, 3);
  const auto listed = library.store().batches();
  StoredBatches batches = batchesOf(library);
  REQUIRE(listed.size() == 3);
  CHECK(listedChain(batches, library.store()) == listed);
  CHECK(chainOf(batches, &library.store()) == listed);
  batches["x"] = batch(listed.back(), {4});
  batches["y"] = batch(listed.back(), {4});
  CHECK(chainOf(batches, &library.store()) == listed);
  batches["z"] = batch("y", {5});
  auto longer = listed;
  longer.insert(longer.end(), {"y", "z"});
  CHECK(chainOf(batches, &library.store()) == longer);
}

TEST_CASE("listedChain: none where a batch is lost or linked to another") {
  TempFolder folder;
  const Library library = libraryOf(folder, 3);
  const auto listed = library.store().batches();
  StoredBatches batches = batchesOf(library);
  batches[listed[1]].set_previous("elsewhere");
  CHECK_FALSE(listedChain(batches, library.store()));
  batches.erase(listed[1]);
  CHECK_FALSE(listedChain(batches, library.store()));
  CHECK(chainOf(batches, &library.store()) == std::vector<std::string>{listed[0]});
}

TEST_CASE("lostLinks: a batch that others follow on, unless their events are here") {
  StoredBatches batches;
  batches["a"] = batch("", {1});
  batches["c"] = batch("b", {3});
  CHECK(lostLinks(batches, {numbered(1)}) == std::vector<std::string>{"b"});
  CHECK(lostLinks(batches, {numbered(1), numbered(2), numbered(3)}).empty());
}
