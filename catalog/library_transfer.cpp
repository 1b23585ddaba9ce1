// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_transfer.h"

#include <algorithm>
#include <map>
#include <set>

#include "catalog/foreign_event.h"
#include "catalog/library_merge.h"
#include "mesh/sha256.h"

namespace holdshelf {
namespace {

void report(const Progress& progress, const char* stage, std::size_t at, std::size_t all) {
  if (progress && !progress(stage, static_cast<double>(at) / static_cast<double>(all)))
    throw Interrupted();
}

Batch batchOf(const Library& library, const std::string& name) {
  Batch batch;
  if (!batch.ParseFromString(library.blobs().get(name)))
    throw BadInput("The batch of events " + name + " in " + library.folder().string() +
                   " is damaged: run holdshelf check --repair there first.");
  return batch;
}

void bringFile(const Library& from, Library& to, const std::string& name, TransferReport& done) {
  done.set_files_added(done.files_added() + (bringBlob(name, from.blobs(), to.blobs()) ? 1 : 0));
}

/// @throws BadInput  What is there is no earlier state of what is to come.
void checkFollows(const std::vector<std::string>& theirs, const std::vector<std::string>& ours,
                  const Library& to) {
  if (theirs.size() <= ours.size() && std::equal(theirs.begin(), theirs.end(), ours.begin()))
    return;
  throw BadInput("The library in " + to.folder().string() +
                 " is no earlier state of this one: name an empty place, or use holdshelf merge.");
}

/// Whether a file is there, and what it was named for.
bool isWhole(const Blobs& blobs, const std::string& name) {
  try {
    (void)blobs.get(name);
    return true;
  } catch (const StoreUnavailable&) {
    throw;
  } catch (const BadInput&) {
    return false;
  }
}

/// Every file that the batches and their events name, there, and what it was named for: one that
/// was damaged since it was brought comes anew.
void verifyFiles(const Library& from, Library& to, const std::vector<std::string>& batches,
                 const Progress& progress, TransferReport& done) {
  std::set<std::string> names(batches.begin(), batches.end());
  to.forEachEvent([&](const Event& event) {
    for (std::string& name : blobsOf(event)) names.insert(std::move(name));
  });
  std::size_t at = 0;
  for (const std::string& name : names) {
    report(progress, "reading again what was brought", at++, names.size());
    if (isWhole(to.blobs(), name)) continue;
    bringFile(from, to, name, done);
    (void)to.blobs().get(name);
  }
  done.set_files(static_cast<std::int64_t>(names.size()));
}

/// All of them before the first is brought, so that nothing is where one cannot be.
/// @throws BadInput  An event says what cannot be so.
void lookAtBatches(const Library& from, const std::vector<std::string>& batches, std::size_t first,
                   const Progress& progress) {
  constexpr std::size_t kAtOnce = 50;  // A look takes a moment, bringing one over far longer.
  for (std::size_t i = first; i < batches.size(); ++i) {
    if ((i + 1) % kAtOnce == 0) report(progress, "looking at what is to come", i, batches.size());
    const Batch batch = batchOf(from, batches[i]);
    for (const Event& event : batch.events()) checkForeign(event, from.folder().string());
  }
}

/// Brings over what is missing; returns the batches that are there then.
std::vector<std::string> bringBatches(const Library& from, Library& to, const Progress& progress,
                                      TransferReport& done) {
  std::vector<std::string> ours = from.store().batches();
  const std::vector<std::string> theirs = to.store().batches();
  checkFollows(theirs, ours, to);
  lookAtBatches(from, ours, theirs.size(), progress);
  for (std::size_t i = theirs.size(); i < ours.size(); ++i) {
    report(progress, "bringing the library over", i, ours.size());
    const Batch batch = batchOf(from, ours[i]);
    for (const Event& event : batch.events())
      for (const std::string& name : blobsOf(event)) bringFile(from, to, name, done);
    to.adopt(batch);
    done.set_batches_added(done.batches_added() + 1);
    done.set_files_added(done.files_added() + 1);
  }
  return ours;
}

}  // namespace

std::string libraryDigest(const Library& library) {
  std::string digest;
  const auto add = [&](std::string_view bytes) { digest = sha256Hex(digest + sha256Hex(bytes)); };
  library.store().forEachEvent([&](const EventRow& row) { add(row.body); });
  add("holds");
  // By id: the keys of a library whose database was made anew are in another order.
  std::map<std::string, std::string> holds;
  library.store().forEachHold(LibraryStore::HoldPart::All, [&](const HoldRow& row) {
    holds[std::string(row.id)] = sha256Hex(std::string(row.body) + std::string(row.search));
  });
  for (const auto& [id, row] : holds) add(id + row);
  return digest;
}

TransferReport transferLibrary(const Library& from, Library& to, const Progress& progress) {
  TransferReport done;
  done.set_from(from.folder().string());
  done.set_to(to.folder().string());
  for (int round = 0; round < 10; ++round) {
    const std::vector<std::string> batches = bringBatches(from, to, progress, done);
    verifyFiles(from, to, batches, progress, done);
    const std::string ours = libraryDigest(from), theirs = libraryDigest(to);
    if (from.store().batches() != batches) continue;  // Somebody wrote: bring that over, too.
    if (ours != theirs || from.size() != to.size() || from.lastEvent() != to.lastEvent())
      throw BadInput("What is in " + to.folder().string() + " is not what is in " +
                     from.folder().string() +
                     ": run holdshelf check on both, and go on working with the first one.");
    done.set_holds(to.size());
    done.set_events(to.lastEvent());
    done.set_batches(static_cast<std::int64_t>(batches.size()));
    done.set_digest(ours);
    return done;
  }
  throw BadInput("The library " + from.folder().string() +
                 " is being written to all the time: run the transfer again when it is quiet.");
}

}  // namespace holdshelf
