// SPDX-License-Identifier: Apache-2.0
#include "catalog/batch_chain.h"

#include <doctest/doctest.h>

#include "catalog/library.h"
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
