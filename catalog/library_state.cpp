// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_state.h"

#include "catalog/library_place.h"
#include "catalog/postgres_store.h"

namespace holdshelf {
namespace {

/// The first of a database's batches has a random number (addBatch of either store), by which one
/// making is told from another.
constexpr const char* kState =
    "SELECT (SELECT coalesce(min(number), 0) FROM batch), "
    "(SELECT coalesce(max(number), 0) FROM event)";

}  // namespace

LibraryState stateOf(const Library& library) {
  if (auto* const shared = dynamic_cast<PostgresStore*>(&library.store())) {
    const postgres::Rows state = shared->connection()->run(kState);
    return {state.integer(0, 0), state.integer(0, 1)};
  }
  sqlite::Statement state(library.database(), kState);
  state.step();
  return {state.integer(0), state.integer(1)};
}

bool isReplaced(const Library& library) {
  return !isDatabaseAddress(library.folder()) && library.database().hasMoved();
}

}  // namespace holdshelf
