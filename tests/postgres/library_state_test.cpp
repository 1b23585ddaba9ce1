// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_state.h"

#include <doctest/doctest.h>

#include "tests/catalog/library_model.h"
#include "tests/postgres/test_server.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("library state: of a shared library it is another one after a repair, too") {
  REQUIRE_POSTGRES(server);
  Library library = Library::openOrCreate(server->newDatabase());
  CHECK(stateOf(library) == LibraryState{});
  library.commit({created("H-0001", "ledge", "B4")});
  library.commit({created("H-0002", "jug", "B4")});
  const LibraryState before = stateOf(library);
  CHECK(before.event == 2);
  CHECK(before.making > 0);
  std::vector<Event> events;
  library.forEachEvent([&](const Event& event) { events.push_back(event); });
  const auto batches = library.store().batches();
  library.restore(batches, events);
  CHECK(stateOf(library).event == 2);
  CHECK(stateOf(library).making != before.making);
  CHECK(library.store().batches() == batches);
  CHECK_FALSE(isReplaced(library));
}
