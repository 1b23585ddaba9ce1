// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "catalog/library_store.h"
#include "proto/event.pb.h"

namespace holdshelf {

// A library's events stand in batches, files that each name the one before: which of those that lie
// in a folder are the library's history. Names of batches are those of their blobs.
//
// A name is a digest of all that came before. So a batch on which another follows was stored once,
// and so was all before one that a database lists. What a commit that was cut off leaves is a leaf.

using StoredBatches = std::map<std::string, Batch>;

/// The batch in a blob, or nullopt when the blob is something else. A mesh or picture does not
/// parse; what parses by chance has no numbered events.
std::optional<Batch> asBatch(const std::string& bytes);

/// The batches that the database lists; nullopt where one of them is not stored or not linked, or
/// the database is damaged.
/// @throws StoreError  It fails without being damaged.
std::optional<std::vector<std::string>> listedChain(const StoredBatches& batches,
                                                    LibraryStore& database);

/// The batches that count. With a database: those that it lists, as far as they are stored, and
/// behind them what agrees with its events: batches whose events it has, and two or more in a row,
/// which it has lost. A leaf that it does not know was cut off, unless a copy lists it.
/// Without one, or where it cannot say what came last: of two that follow on the same batch the one
/// that others follow on, or that says all that those say (as a repair writes it); of two histories
/// the one with more events; of two leaves the one whose events are later. What a copy lists counts
/// like what others follow on.
/// @param database  May be null: there is none.
/// @param listed_elsewhere  Batches that a copy's database lists, so that they were stored.
/// @throws StoreError  It fails without being damaged.
std::vector<std::string> chainOf(const StoredBatches& batches, LibraryStore* database,
                                 const std::set<std::string>& listed_elsewhere = {});

/// Leaves beside the last batch of a chain: any of them may have been stored last instead of it,
/// unless a database says otherwise.
std::vector<std::string> rivalsOf(const StoredBatches& batches,
                                  const std::vector<std::string>& chain);

/// A history beside the one that counts: it was stored, and then the library was worked on from an
/// earlier state.
struct SideBranch {
  std::string first;                    ///< Its first batch with events that the other has not.
  std::string instead;                  ///< The batch that took its place; empty: none has.
  std::size_t batches = 0, events = 0;  ///< Events that the other has not.
};

/// Histories beside a chain with events that it has not, nor as merged ones. A single batch is one
/// where a copy lists it.
/// @param events            The chain's.
/// @param listed_elsewhere  As above.
std::vector<SideBranch> sideBranches(const StoredBatches& batches,
                                     const std::vector<std::string>& chain,
                                     const std::vector<Event>& events,
                                     const std::set<std::string>& listed_elsewhere = {});

/// Batches that are missing although others follow on them, so that these have no place in the
/// chain; but for those whose followers' events the chain has from elsewhere.
std::vector<std::string> lostLinks(const StoredBatches& batches, const std::vector<Event>& chain);

}  // namespace holdshelf
