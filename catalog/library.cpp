// SPDX-License-Identifier: Apache-2.0
#include "catalog/library.h"

#include <algorithm>
#include <array>
#include <cstdio>
#include <map>
#include <optional>
#include <set>
#include <system_error>

#include "catalog/batch_bytes.h"
#include "catalog/batch_chain.h"
#include "catalog/clock.h"
#include "catalog/edit_distance.h"
#include "catalog/hold_record.h"
#include "catalog/hold_rows.h"
#include "catalog/library_place.h"
#include "catalog/lip_curve.h"
#include "catalog/postgres_store.h"
#include "catalog/shown_text.h"
#include "catalog/site_rule.h"
#include "catalog/sqlite_store.h"
#include "mesh/bad_input.h"
#include "mesh/open_file.h"
#include "mesh/unreadable_file.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

Event parseEvent(std::string_view bytes) {
  Event event;
  if (!event.ParseFromArray(bytes.data(), static_cast<int>(bytes.size())))
    throw BadInput("An event in the library is damaged: run holdshelf check --repair.");
  return event;
}

/// Whether a database is there. One without a byte is none: SQLite would begin it anew.
bool hasDatabase(const fs::path& folder) {
  std::error_code none;
  return SqliteStore::isIn(folder) && fs::file_size(folder / "holdshelf.sqlite", none) > 0 && !none;
}

/// @throws UnreadableFile  None that can be read now is a batch, and not all can be.
bool holdsBatches(const Blobs& blobs) {
  std::optional<UnreadableFile> unread;
  for (const std::string& name : blobs.names()) try {
      if (asBatch(blobs.get(name))) return true;
    } catch (const UnreadableFile& failure) {
      unread = failure;
    } catch (const BadInput&) {  // Damaged: another one tells.
    }
  if (unread) throw UnreadableFile(*unread);
  return false;
}

/// An empty database over the batches of a lost one would hide all that they say.
/// @throws BadInput  The folder's database is lost, or that cannot be told now.
void refuseLostDatabase(const fs::path& folder) {
  // Asked again, as another process may just have made it and written its first batch.
  if (hasDatabase(folder) || !holdsBatches(*blobsAt(folder)) || hasDatabase(folder)) return;
  throw BadInput("The database of the library " + folder.string() +
                 " is lost, while its batches of events are there: run holdshelf check --repair, "
                 "which makes it anew of them.");
}

/// On the disk before SQLite puts its file there: with the folder's name all of it would go.
/// @throws BadInput  It cannot be made.
void makeLibraryFolder(const fs::path& folder) {
  try {
    makeFolderDurably(folder);
    if (fs::is_directory(folder)) return;
  } catch (const std::system_error&) {
  }
  throw BadInput("The library folder " + folder.string() +
                 " cannot be made: choose a folder that you may write to.");
}

}  // namespace

Hold slimHold(Hold hold) {
  for (Scan& scan : *hold.mutable_scans()) {
    if (scan.shape().sections_size() > 0) scan.set_lips(packLips(lipRuns(scan.shape())));
    scan.mutable_shape()->clear_sections();
    scan.mutable_report()->clear_cameras();
    scan.mutable_report()->clear_times();
  }
  return hold;
}

Library::Library(fs::path place, std::unique_ptr<LibraryStore> store, std::unique_ptr<Blobs> blobs)
    : folder_(std::move(place)), store_(std::move(store)), blobs_(std::move(blobs)) {
  try {
    store_->migrate([this] { refold(); });
    site_ = siteAt(*store_);
  } catch (const StoreError& error) {
    refuseWith(error, folder_);
  }
}

int Library::schemaVersion() { return SqliteStore::schemaVersion(); }

bool Library::isIn(const fs::path& place) {
  if (!isDatabaseAddress(place)) return SqliteStore::isIn(place);
  try {
    return PostgresStore::isIn(place);
  } catch (const StoreError& error) {
    refuseWith(error, place);
  }
}

Library Library::open(const fs::path& place) {
  if (!isIn(place)) {
    if (!isDatabaseAddress(place)) refuseLostDatabase(place);
    throw BadInput("There is no library in " + place.string() +
                   ": check the --library folder, or make one with holdshelf intake.");
  }
  return openOrCreate(place);
}

Library Library::openOrCreate(const fs::path& place) {
  try {
    if (isDatabaseAddress(place)) {
      auto store = std::make_unique<PostgresStore>(place);
      auto blobs = store->blobs();
      return Library(place, std::move(store), std::move(blobs));
    }
    makeLibraryFolder(place);
    // Asked once: a repair may be setting aside what is there, and none must be begun meanwhile.
    const auto access = hasDatabase(place) ? sqlite::Database::Access::Existing
                                           : sqlite::Database::Access::ReadWrite;
    if (access != sqlite::Database::Access::Existing) refuseLostDatabase(place);
    return Library(place, std::make_unique<SqliteStore>(place, access), blobsAt(place));
  } catch (const StoreError& error) {
    refuseWith(error, place);
  }
}

std::unique_ptr<Blobs> blobsAt(const fs::path& place) {
  if (!isDatabaseAddress(place)) return std::make_unique<BlobStore>(place / "blobs");
  return PostgresStore(place).blobs();
}

void Library::checkpoint() {
  if (auto* file = dynamic_cast<SqliteStore*>(store_.get()))
    file->database().execute("PRAGMA wal_checkpoint(TRUNCATE)");
}

const sqlite::Database& Library::database() const {
  if (auto* file = dynamic_cast<SqliteStore*>(store_.get())) return file->database();
  throw BadInput("The library " + folder_.string() +
                 " is no folder: holdshelf transfer makes a folder of it, and pg_dump a backup.");
}

/// Makes all rows anew from their events, a thousand at a time.
void Library::refold() {
  std::map<std::string, Hold> holds;
  for (const std::string& id : store_->holdIds()) {
    if (auto folded = holdAsOf(history(id))) holds[id] = std::move(*folded);
    if (holds.size() < 1000) continue;
    storeHolds(holds);
    holds.clear();
  }
  storeHolds(holds);
}

bool Library::has(const std::string& id) const { return store_->hasHold(id); }

std::int64_t Library::size() const { return store_->holdCount(); }

std::int64_t Library::lastEvent() const { return store_->lastEvent(); }

Hold Library::hold(const std::string& id) const {
  if (const auto bytes = store_->holdBody(id)) {
    Hold hold;
    if (hold.ParseFromString(*bytes)) return hold;
    throw BadInput("The record of " + id + " is damaged: run holdshelf check --repair.");
  }
  std::string nearest;
  std::size_t smallest = 3;             // Farther ids are no help.
  constexpr std::size_t kLongest = 64;  // What is longer was never meant as one.
  if (id.size() <= kLongest)
    for (const std::string& other : store_->holdIds()) {
      const std::size_t distance = editDistance(id, other);
      if (distance < smallest) nearest = other, smallest = distance;
    }
  throw BadInput("There is no hold " + givenStart(id, 40) + " in " + folder_.string() +
                 (nearest.empty() ? ": holdshelf find lists what there is."
                                  : ": did you mean " + nearest + "?"));
}

std::vector<Event> Library::history(const std::string& id) const {
  std::vector<Event> events;
  store_->forEachEventOf(id, [&](const EventRow& row) { events.push_back(parseEvent(row.body)); });
  std::vector<Event> ordered;
  for (const Event* event : inOrder(events)) ordered.push_back(*event);
  return ordered;
}

Scan Library::currentFullScan(const std::string& id) const {
  Scan scan;
  for (Event& event : history(id))
    if (event.has_scanned()) scan = std::move(*event.mutable_scanned());
  if (scan.id().empty()) throw BadInput(id + " has no scan yet: make one with holdshelf intake.");
  return scan;
}

void Library::forEachHold(const std::function<void(std::int64_t, const Hold&)>& visit) const {
  Hold hold;
  store_->forEachHold(LibraryStore::HoldPart::Body, [&](const HoldRow& row) {
    if (!hold.ParseFromArray(row.body.data(), static_cast<int>(row.body.size())))
      throw BadInput("The record of " + std::string(row.id) +
                     " is damaged: run holdshelf check --repair.");
    visit(row.key, hold);
  });
}

void Library::forEachEvent(const std::function<void(const Event&)>& visit) const {
  store_->forEachEvent([&](const EventRow& row) { visit(parseEvent(row.body)); });
}

std::string Library::nextFreeId(const std::set<std::string>& taken) const {
  std::int64_t number = store_->lastKey() + 1;
  for (;; ++number) {
    std::array<char, 32> id{};
    std::snprintf(id.data(), id.size(), "H-%04lld", static_cast<long long>(number));
    if (taken.count(id.data()) == 0 && !has(id.data())) return id.data();
  }
}

/// Made ready a few at a time: a database ends what says nothing in it for long.
void Library::storeHolds(const std::map<std::string, Hold>& holds) {
  constexpr std::size_t kAtOnce = 200;
  if (holds.size() <= kAtOnce) return store_->putHolds(HoldRows(holds).rows());
  std::map<std::string, Hold> few;
  for (const auto& hold : holds) {
    few.insert(hold);
    if (few.size() < kAtOnce) continue;
    store_->putHolds(HoldRows(few).rows());
    few.clear();
  }
  store_->putHolds(HoldRows(few).rows());
}

void Library::numberEvents(std::vector<Event>& events) const {
  std::int64_t number = lastEvent();
  const std::string now = nowUtc();
  std::string created;  // The hold that an empty id stands for.
  for (Event& event : events) {
    if (event.has_created() && event.hold().empty()) {
      if (!created.empty()) throw BadInput("Two new holds in one commit need ids of their own.");
      event.set_hold(nextFreeId());
    }
    if (event.has_created()) created = event.hold();
    if (event.has_created() && event.created().site().empty() && event.origin().empty())
      event.mutable_created()->set_site(site_);
    if (event.hold().empty() && event.subject().empty()) event.set_hold(created);
    if (event.at().empty()) event.set_at(now);
    if (event.who().empty()) event.set_who(who_.empty() ? whoAmI() : who_);
    event.set_number(++number);
  }
}

std::string Library::lastTimeOf(const Event& event) const {
  if (!event.hold().empty()) return has(event.hold()) ? hold(event.hold()).updated_at() : "";
  std::string last;
  store_->forEachEventOf(event.subject(), [&](const EventRow& row) {
    if (row.at > last) last = row.at;
  });
  return last;
}

void Library::keepTimesRising(std::vector<Event>& events) const {
  std::map<std::string, std::string> last;  // By subject.
  for (Event& event : events) {
    if (!event.origin().empty()) continue;
    const auto [at, added] = last.try_emplace(subjectOf(event));
    if (added) at->second = lastTimeOf(event);
    if (event.at() < at->second) event.set_at(at->second);
    at->second = event.at();
  }
}

std::map<std::string, Hold> Library::applyEvents(const std::vector<Event>& events,
                                                 const std::string& said_at) const {
  std::map<std::string, Hold> holds;
  std::set<std::string>
      merged;  // Holds with events from elsewhere, which may belong before others.
  for (const Event& event : events) {
    const std::string& id = event.hold();
    if (id.empty()) {
      if (event.subject().empty()) throw BadInput("A change names no hold: give the id of one.");
      continue;
    }
    if (!event.origin().empty()) merged.insert(id);
    const bool known = holds.count(id) != 0;
    if (event.has_created() && (known || has(id)))
      throw BadInput("There is a hold " + id + " in " + folder_.string() +
                     " already: choose another --id, or leave it out to get the next free one.");
    if (!event.has_created() && !known) holds[id] = hold(id);
    if (!event.has_created()) checkSite(holds[id], event, said_at);
    applyEvent(holds[id], event);
  }
  for (const std::string& id : merged) {
    std::vector<Event> all = history(id);
    for (const Event& event : events)
      if (event.hold() == id) all.push_back(event);
    if (const auto folded = holdAsOf(all)) holds[id] = *folded;
  }
  return holds;
}

void Library::storeBatch(const std::vector<Event>& events) {
  Batch batch;
  batch.set_previous(store_->lastBatch());
  for (const Event& event : events) *batch.add_events() = event;
  store_->addBatch(blobs_->put(batchBytes(batch)));
  storeEvents(events);
}

/// A few at a time, as their bytes are a second copy of them all.
void Library::storeEvents(const std::vector<Event>& events) {
  constexpr std::size_t kAtOnce = 1000;
  std::vector<std::string> bodies;
  std::vector<EventRow> rows;
  bodies.reserve(std::min(kAtOnce, events.size()));  // The rows point into it.
  for (const Event& event : events) {
    bodies.push_back(event.SerializeAsString());
    const std::string& subject = event.hold().empty() ? event.subject() : event.hold();
    rows.push_back({event.number(), subject, event.at(), event.who(), bodies.back()});
    if (rows.size() < kAtOnce && &event != &events.back()) continue;
    store_->addEvents(rows);
    rows.clear();
    bodies.clear();
  }
}

std::vector<Event> Library::commit(std::vector<Event> events,
                                   const std::function<void()>& allowed) {
  if (events.empty()) return events;
  return commitMade([&] {
    if (allowed) allowed();
    return std::move(events);
  });
}

std::vector<Event> Library::commitMade(const std::function<std::vector<Event>()>& make) {
  try {
    const auto write = store_->write();
    std::vector<Event> events = make();
    if (events.empty()) return events;
    numberEvents(events);
    keepTimesRising(events);
    const std::map<std::string, Hold> holds = applyEvents(events, site_);
    storeBatch(events);
    storeHolds(holds);
    write->commit();
    return events;
  } catch (const StoreError& error) {
    refuseWith(error, folder_);
  }
}

void Library::adopt(const Batch& batch) {
  try {
    const auto write = store_->write();
    if (batch.previous() != store_->lastBatch() || batch.events().empty() ||
        batch.events(0).number() <= store_->lastEvent())  // A repair may leave numbers out.
      throw BadInput("Somebody else has written to " + folder_.string() +
                     " meanwhile: nothing was overwritten; run the transfer again.");
    const std::vector<Event> events(batch.events().begin(), batch.events().end());
    const std::map<std::string, Hold> holds = applyEvents(events, "");
    store_->addBatch(blobs_->put(batchBytes(batch)));
    storeEvents(events);
    storeHolds(holds);
    write->commit();
  } catch (const StoreError& error) {
    refuseWith(error, folder_);
  }
}

void Library::restore(const std::vector<std::string>& batches, const std::vector<Event>& events) {
  try {
    const auto write = store_->write();
    restoreInside(*write, batches, events);
    write->commit();
  } catch (const StoreError& error) {
    refuseWith(error, folder_);
  }
}

void Library::restoreInside(const LibraryStore::Write& /*open*/,
                            const std::vector<std::string>& batches,
                            const std::vector<Event>& events) {
  store_->clear();
  for (const std::string& batch : batches) store_->addBatch(batch);
  // Before the events are there, so that each is folded once.
  const std::map<std::string, Hold> holds = applyEvents(events, "");
  storeEvents(events);
  storeHolds(holds);
}

}  // namespace holdshelf
