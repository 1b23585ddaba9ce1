// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "catalog/batch_bytes.h"
#include "catalog/library.h"
#include "catalog/repair_turn.h"
#include "proto/check.pb.h"

namespace holdshelf {

// What mends a damaged library (catalog/library_check.h). Nothing is deleted but the damaged copy
// of a file that comes back whole, and that only once it has. Each says in the report what it
// mended.

/// Brings lost and damaged files back from another library's. A batch that comes back may name
/// further files, so that it goes round until nothing comes. Nothing here names the last batches
/// where the database is lost, too: what the other's database lists behind the last one here comes
/// as well, unless this library has gone on otherwise, which is remarked. A file that is damaged
/// there, too, is said to be and left as it is.
/// @return  The batches that the other's database lists: they were stored.
/// @throws BadInput        There is no library at `donor`, or no room here.
/// @throws UnreadableFile  One could not be read there now; all others came back.
std::set<std::string> mendFiles(const std::filesystem::path& folder,
                                const std::filesystem::path& donor, CheckReport& report);

/// The viewers' meshes are made of the meshes again, where that gives the very files that were
/// lost.
void remakeViewerMeshes(const std::filesystem::path& folder, CheckReport& report);

/// What a batch of a repair comes to at most: a database takes files of less than 1 GB, and each is
/// read into memory.
constexpr std::size_t kRewrittenBytes = std::size_t{256} << 20;

/// A chain of batches of all events, in place of one that has lost a link; one where they fit.
/// @return  Their names, in order.
/// @throws BadInput  There is no room, or an event has more than `most_bytes` alone, and nothing
/// was
///                   written.
std::vector<std::string> rewriteBatches(const std::filesystem::path& folder,
                                        const std::vector<Event>& events,
                                        std::size_t most_bytes = kRewrittenBytes);

/// Takes away the events of holds whose creation is not among them: no hold can be made of these.
/// @return  How many.
std::size_t leaveOutOrphans(std::vector<Event>& events);

/// Makes the database anew of the batches. In place where it is sound, with a copy kept aside first
/// where its events are not all among these. Where it is damaged or an event cannot be read,
/// another one is made and the damaged one set aside, if it is a folder's. Whoever wants to write
/// waits until then, and is refused if he has the one open that was set aside.
/// @param turn   Begun before it was looked for.
/// @param write  Of the library's store, under which it was looked through; null: one is begun.
/// @throws StoreUnavailable  It is not damaged, and cannot be written to now; nothing was changed.
/// @throws BadInput          It is damaged and not a folder's, or another one has been put in its
///                           place since it was looked for.
void restoreDatabase(const std::filesystem::path& folder, std::optional<Library>& library,
                     const std::vector<std::string>& batches, const std::vector<Event>& events,
                     const RepairTurn& turn, CheckReport& report,
                     std::unique_ptr<LibraryStore::Write> write = nullptr);

}  // namespace holdshelf
