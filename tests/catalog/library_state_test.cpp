// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_state.h"

#include <doctest/doctest.h>

#include "tests/catalog/library_model.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;
namespace fs = std::filesystem;

TEST_CASE("library state: it is another one after each commit, and after a repair as well") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  CHECK(stateOf(library) == LibraryState{});
  library.commit({created("H-0001", "ledge", "B4")});
  const LibraryState first = stateOf(library);
  CHECK(first.event == 1);
  CHECK(first.making > 0);
  library.commit({created("H-0002", "jug", "B4")});
  const LibraryState second = stateOf(library);
  CHECK(second == LibraryState{first.making, 2});
  CHECK(stateOf(Library::open(folder / "l")) == second);
  std::vector<Event> events;
  library.forEachEvent([&](const Event& event) { events.push_back(event); });
  const auto batches = library.store().batches();
  library.restore(batches, events);
  const LibraryState repaired = stateOf(library);
  CHECK(repaired.event == 2);
  CHECK(repaired.making != second.making);
  CHECK(library.store().batches() == batches);  // In their order.
  library.commit({created("H-0003", "sloper", "B4")});
  CHECK(stateOf(library) == LibraryState{repaired.making, 3});
  CHECK(stateOf(Library::openOrCreate(folder / "other")) == LibraryState{});
}

TEST_CASE("library state: of two libraries with as many events it is not the same") {
  TempFolder folder;
  Library one = Library::openOrCreate(folder / "a"), other = Library::openOrCreate(folder / "b");
  for (Library* library : {&one, &other}) library->commit({created("H-0001", "ledge", "B4")});
  CHECK_FALSE(stateOf(one) == stateOf(other));
}

TEST_CASE("library state: one whose database lies elsewhere by now is replaced") {
  TempFolder folder;
  const fs::path file = folder / "l" / "holdshelf.sqlite";
  const Library library = Library::openOrCreate(folder / "l");
  CHECK_FALSE(isReplaced(library));
  fs::rename(file, folder / "l" / "aside");
  CHECK(isReplaced(library));
  (void)Library::openOrCreate(folder / "l");
  CHECK(isReplaced(library));
  CHECK_FALSE(isReplaced(Library::open(folder / "l")));
}
