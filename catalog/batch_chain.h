// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "catalog/library_store.h"
#include "proto/event.pb.h"

namespace holdshelf {

// A library's events stand in batches, files that each name the one before: which of those that lie
// in a folder are the library's history. Names of batches are those of their blobs.

using StoredBatches = std::map<std::string, Batch>;

/// The batch in a blob, or nullopt when the blob is something else. A mesh or picture does not
/// parse; what parses by chance has no numbered events.
std::optional<Batch> asBatch(const std::string& bytes);

/// The batches that the database lists; nullopt where one of them is not stored or not linked, or
/// the database is damaged.
std::optional<std::vector<std::string>> listedChain(const StoredBatches& batches,
                                                    LibraryStore& database);

/// The batches that count. A commit that was cut off leaves one batch after the last that the
/// database lists, or several beside each other, and none of them has a successor: they are left
/// out. Two in a row the database has lost. Without a list, the chain with most events.
/// @param database  May be null: there is none.
std::vector<std::string> chainOf(const StoredBatches& batches, LibraryStore* database);

/// Batches that are missing although others follow on them, so that these have no place in the
/// chain; but for those whose followers' events the chain has from elsewhere.
std::vector<std::string> lostLinks(const StoredBatches& batches, const std::vector<Event>& chain);

}  // namespace holdshelf
