// SPDX-License-Identifier: Apache-2.0
#include "catalog/library.h"

#include <algorithm>
#include <array>
#include <cstdio>
#include <map>
#include <set>

#include "catalog/clock.h"
#include "catalog/edit_distance.h"
#include "catalog/hold_record.h"
#include "catalog/lip_curve.h"
#include "catalog/search_row.h"
#include "mesh/bad_input.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

constexpr const char* kFileName = "holdshelf.sqlite";
constexpr int kApplicationId = 0x484f4c44;  // "HOLD": tells our files from other SQLite files.

// Migration rule: step i takes a database from user_version i to i + 1. Steps are only ever
// appended. A program that meets a higher version than it knows leaves the file alone.
constexpr std::array<const char*, 2> kMigrations = {
    R"sql(
CREATE TABLE batch(
  number INTEGER PRIMARY KEY,
  blob TEXT NOT NULL                -- SHA-256 of the Batch message
);
CREATE TABLE event(
  number INTEGER PRIMARY KEY,
  hold TEXT NOT NULL,
  at TEXT NOT NULL,
  who TEXT NOT NULL,
  body BLOB NOT NULL                -- Event message
);
CREATE INDEX event_hold ON event(hold, number);
CREATE TABLE hold(
  key INTEGER PRIMARY KEY,
  id TEXT NOT NULL UNIQUE,
  status INTEGER NOT NULL,
  name TEXT NOT NULL,
  bin TEXT NOT NULL,
  set_name TEXT NOT NULL,
  colour TEXT NOT NULL,
  protrusion_mm REAL,
  width_mm REAL,
  height_mm REAL,
  volume_mm3 REAL,
  search BLOB NOT NULL,             -- measured numbers, packed (catalog/search_row.h)
  body BLOB NOT NULL                -- Hold message
);
CREATE INDEX hold_bin ON hold(bin);
CREATE INDEX hold_set ON hold(set_name);
CREATE INDEX hold_colour ON hold(colour);
CREATE INDEX hold_status ON hold(status);
CREATE INDEX hold_protrusion ON hold(protrusion_mm);
CREATE INDEX hold_volume ON hold(volume_mm3);
)sql",
    ""};  // 2: hold rows gained lips and mountings to search by; migrate() folds them anew.

[[noreturn]] void explain(const sqlite::Error& error, const fs::path& folder) {
  throw BadInput("The library " + folder.string() + " cannot be used (" + error.what() +
                 "): check that the disk has room and that you may write there, or run holdshelf "
                 "check.");
}

[[noreturn]] void refuseNewer(const fs::path& folder) {
  throw NewerLibrary("The library " + folder.string() +
                     " was made by a newer program: update holdshelf on this machine.");
}

std::int64_t pragma(const sqlite::Database& database, const char* name) {
  sqlite::Statement statement(database, std::string("PRAGMA ") + name);
  return statement.step() ? statement.integer(0) : 0;
}

bool isTooNew(const sqlite::Database& database) {
  const std::int64_t version = pragma(database, "user_version");
  return version > static_cast<std::int64_t>(kMigrations.size()) ||
         (version > 0 && pragma(database, "application_id") != kApplicationId);
}

/// Looks at the version before the library is opened, so that not even a journal appears beside a
/// newer one. By SQLite, never by a stream of our own: when a process closes any handle of a file,
/// POSIX drops all locks that it has on it, and a server's other threads would write unlocked.
/// Source: sqlite.org/howtocorrupt.html, section 2.2.
void refuseNewerFile(const fs::path& folder) {
  if (!Library::isIn(folder)) return;
  bool too_new = false;
  try {
    too_new = isTooNew({folder / kFileName, sqlite::Database::Access::Frozen});
  } catch (const sqlite::Error&) {
    return;  // Opening it says what is wrong.
  }
  if (too_new) refuseNewer(folder);
}

sqlite::Database openDatabase(const fs::path& folder) {
  refuseNewerFile(folder);
  try {
    sqlite::Database database(folder / kFileName, sqlite::Database::Access::ReadWrite);
    database.execute(
        "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;"
        "PRAGMA foreign_keys = ON;");
    return database;
  } catch (const sqlite::Error& error) {
    explain(error, folder);
  }
}

Event parseEvent(std::string_view bytes) {
  Event event;
  if (!event.ParseFromArray(bytes.data(), static_cast<int>(bytes.size())))
    throw BadInput("An event in the library is damaged: run holdshelf check --repair.");
  return event;
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

Library::Library(fs::path folder, sqlite::Database database)
    : folder_(std::move(folder)), blobs_(folder_ / "blobs"), database_(std::move(database)) {
  try {
    migrate();
  } catch (const sqlite::Error& error) {
    explain(error, folder_);
  }
}

int Library::schemaVersion() { return static_cast<int>(kMigrations.size()); }

bool Library::isIn(const fs::path& folder) { return fs::exists(folder / kFileName); }

Library Library::open(const fs::path& folder) {
  if (!isIn(folder))
    throw BadInput("There is no library in " + folder.string() +
                   ": check the --library folder, or make one with holdshelf intake.");
  return Library(folder, openDatabase(folder));
}

Library Library::openOrCreate(const fs::path& folder) {
  std::error_code error;
  fs::create_directories(folder, error);
  if (error || !fs::is_directory(folder))
    throw BadInput("The library folder " + folder.string() +
                   " cannot be made: choose a folder that you may write to.");
  return Library(folder, openDatabase(folder));
}

void Library::migrate() {
  constexpr auto kKnown = static_cast<std::int64_t>(kMigrations.size());
  std::int64_t version = pragma(database_, "user_version");
  if (version == kKnown) return;
  sqlite::Transaction transaction(database_);
  version = pragma(database_, "user_version");  // Another process may have been first.
  if (isTooNew(database_)) refuseNewer(folder_);
  for (std::int64_t step = version; step < kKnown; ++step)
    database_.execute(kMigrations.at(static_cast<std::size_t>(step)));
  std::vector<std::string> ids;  // Of an older program's rows, which are folded anew.
  if (version > 0) {
    sqlite::Statement statement(database_, "SELECT id FROM hold ORDER BY key");
    while (statement.step()) ids.push_back(statement.text(0));
  }
  for (const std::string& id : ids)
    if (const auto folded = holdAsOf(history(id))) storeHold(*folded);
  database_.execute("PRAGMA application_id = " + std::to_string(kApplicationId) +
                    "; PRAGMA user_version = " + std::to_string(kKnown));
  transaction.commit();
}

bool Library::has(const std::string& id) const {
  return sqlite::Statement(database_, "SELECT 1 FROM hold WHERE id = ?").bind(1, id).step();
}

std::int64_t Library::size() const {
  sqlite::Statement statement(database_, "SELECT count(*) FROM hold");
  statement.step();
  return statement.integer(0);
}

std::int64_t Library::lastEvent() const {
  sqlite::Statement statement(database_, "SELECT coalesce(max(number), 0) FROM event");
  statement.step();
  return statement.integer(0);
}

Hold Library::hold(const std::string& id) const {
  sqlite::Statement statement(database_, "SELECT body FROM hold WHERE id = ?");
  if (statement.bind(1, id).step()) {
    const std::string_view bytes = statement.blob(0);
    Hold hold;
    if (hold.ParseFromArray(bytes.data(), static_cast<int>(bytes.size()))) return hold;
    throw BadInput("The record of " + id + " is damaged: run holdshelf check --repair.");
  }
  std::string nearest;
  std::size_t smallest = 3;  // Farther ids are no help.
  sqlite::Statement ids(database_, "SELECT id FROM hold ORDER BY key");
  while (ids.step()) {
    const std::size_t distance = editDistance(id, ids.text(0));
    if (distance < smallest) nearest = ids.text(0), smallest = distance;
  }
  throw BadInput("There is no hold " + id + " in " + folder_.string() +
                 (nearest.empty() ? ": holdshelf find lists what there is."
                                  : ": did you mean " + nearest + "?"));
}

std::vector<Event> Library::history(const std::string& id) const {
  std::vector<Event> events;
  sqlite::Statement statement(database_, "SELECT body FROM event WHERE hold = ? ORDER BY number");
  statement.bind(1, id);
  while (statement.step()) events.push_back(parseEvent(statement.blob(0)));
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
  sqlite::Statement statement(database_, "SELECT key, id, body FROM hold ORDER BY key");
  Hold hold;
  while (statement.step()) {
    const std::string_view bytes = statement.blob(2);
    if (!hold.ParseFromArray(bytes.data(), static_cast<int>(bytes.size())))
      throw BadInput("The record of " + statement.text(1) +
                     " is damaged: run holdshelf check --repair.");
    visit(statement.integer(0), hold);
  }
}

void Library::forEachEvent(const std::function<void(const Event&)>& visit) const {
  sqlite::Statement statement(database_, "SELECT body FROM event ORDER BY number");
  while (statement.step()) visit(parseEvent(statement.blob(0)));
}

std::string Library::nextFreeId(const std::set<std::string>& taken) const {
  std::int64_t number = size() + 1;
  for (;; ++number) {
    std::array<char, 32> id{};
    std::snprintf(id.data(), id.size(), "H-%04lld", static_cast<long long>(number));
    if (taken.count(id.data()) == 0 && !has(id.data())) return id.data();
  }
}

std::string Library::headBatch() const {
  sqlite::Statement statement(database_, "SELECT blob FROM batch ORDER BY number DESC LIMIT 1");
  return statement.step() ? statement.text(0) : "";
}

void Library::storeHold(const Hold& full) {
  const Hold hold = slimHold(full);
  const Scan* scan = currentScan(hold);
  sqlite::Statement statement(
      database_,
      "INSERT INTO hold(id, status, name, bin, set_name, colour, protrusion_mm, width_mm, "
      "height_mm, volume_mm3, search, body) VALUES(?1,?2,?3,?4,?5,?6,?7,?8,?9,?10,?11,?12) "
      "ON CONFLICT(id) DO UPDATE SET status=?2, name=?3, bin=?4, set_name=?5, colour=?6, "
      "protrusion_mm=?7, width_mm=?8, height_mm=?9, volume_mm3=?10, search=?11, body=?12");
  statement.bind(1, hold.id())
      .bind(2, static_cast<int>(hold.status()))
      .bind(3, hold.name())
      .bind(4, hold.bin())
      .bind(5, hold.set())
      .bind(6, hold.colour().name())
      .bindBlob(11, packSearchRow(hold))
      .bindBlob(12, hold.SerializeAsString());
  if (scan != nullptr) {
    statement.bind(7, scan->shape().protrusion_mm().value())
        .bind(8, scan->shape().footprint_width_mm().value())
        .bind(9, scan->shape().footprint_height_mm().value())
        .bind(10, scan->shape().volume_mm3().value());
  }
  statement.run();
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
    if (event.hold().empty() && event.subject().empty()) event.set_hold(created);
    if (event.at().empty()) event.set_at(now);
    if (event.who().empty()) event.set_who(who_.empty() ? whoAmI() : who_);
    event.set_number(++number);
  }
}

void Library::keepTimesRising(std::vector<Event>& events) const {
  std::map<std::string, std::string> last;  // By hold.
  for (Event& event : events) {
    if (event.hold().empty() || !event.origin().empty()) continue;
    const auto [at, added] = last.try_emplace(event.hold());
    if (added && has(event.hold())) at->second = hold(event.hold()).updated_at();
    if (event.at() < at->second) event.set_at(at->second);
    at->second = event.at();
  }
}

std::map<std::string, Hold> Library::applyEvents(const std::vector<Event>& events) const {
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
  batch.set_previous(headBatch());
  for (const Event& event : events) *batch.add_events() = event;
  const std::string blob = blobs_.put(batch.SerializeAsString());
  sqlite::Statement(database_, "INSERT INTO batch(blob) VALUES(?)").bind(1, blob).run();
  storeEvents(events);
}

void Library::storeEvents(const std::vector<Event>& events) {
  sqlite::Statement insert(database_,
                           "INSERT INTO event(number, hold, at, who, body) VALUES(?,?,?,?,?)");
  for (const Event& event : events)
    insert.bind(1, event.number())
        .bind(2, subjectOf(event))
        .bind(3, event.at())
        .bind(4, event.who())
        .bindBlob(5, event.SerializeAsString())
        .run();
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
    sqlite::Transaction transaction(database_);
    std::vector<Event> events = make();
    if (events.empty()) return events;
    numberEvents(events);
    keepTimesRising(events);
    const std::map<std::string, Hold> holds = applyEvents(events);
    storeBatch(events);
    for (const auto& [id, hold] : holds) storeHold(hold);
    transaction.commit();
    return events;
  } catch (const sqlite::Error& error) {
    explain(error, folder_);
  }
}

void Library::restore(const std::vector<std::string>& batches, const std::vector<Event>& events) {
  try {
    sqlite::Transaction transaction(database_);
    database_.execute("DELETE FROM hold; DELETE FROM event; DELETE FROM batch;");
    sqlite::Statement insert(database_, "INSERT INTO batch(blob) VALUES(?)");
    for (const std::string& batch : batches) insert.bind(1, batch).run();
    // Before the events are there, so that each is folded once.
    const std::map<std::string, Hold> holds = applyEvents(events);
    storeEvents(events);
    for (const auto& [id, hold] : holds) storeHold(hold);
    transaction.commit();
  } catch (const sqlite::Error& error) {
    explain(error, folder_);
  }
}

}  // namespace holdshelf
