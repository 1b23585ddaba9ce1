// SPDX-License-Identifier: Apache-2.0
// What a check and a repair must not do: lose what was acknowledged, whatever was cut off beside
// it, whoever writes meanwhile and however the disk goes wrong.
#include <doctest/doctest.h>

#include <atomic>
#include <chrono>
#include <filesystem>
#include <fstream>
#include <functional>
#include <map>
#include <thread>

#include "catalog/library_backup.h"
#include "catalog/library_check.h"
#include "catalog/library_copy.h"
#include "catalog/library_merge.h"
#include "mesh/bad_input.h"
#include "tests/catalog/run_program.h"
#include "tests/catalog/temp_folder.h"
#include "tests/reliability/durability/each_step.h"
#include "tests/reliability/durability/faulty_disk.h"

using namespace holdshelf;
using namespace holdshelf::test;
namespace fs = std::filesystem;

namespace {

/// A hold with a mesh, in a commit of its own.
void addHold(Library& library, const std::string& name) {
  Event made, scanned;
  made.mutable_created()->set_name(name);
  scanned.mutable_scanned()->set_id(name);
  scanned.mutable_scanned()->set_mesh_blob(library.blobs().put("mesh of " + name));
  library.commit({made, scanned});
}

void addHolds(const fs::path& folder, const std::string& name, int count) {
  Library library = Library::openOrCreate(folder);
  for (int i = 1; i <= count; ++i) addHold(library, name + " " + std::to_string(i));
  library.checkpoint();
}

std::vector<std::string> batchesOf(const fs::path& folder) {
  return Library::open(folder).store().batches();
}

/// What a commit of so many holds leaves whose transaction failed when its batch was written.
std::string cutOff(const fs::path& folder, const std::string& previous, std::int64_t number,
                   int holds, const std::string& at) {
  Batch batch;
  batch.set_previous(previous);
  for (int i = 0; i < holds; ++i) {
    Event& event = *batch.add_events();
    event.set_number(number + i);
    event.set_hold("X-" + std::to_string(i));
    event.set_at(at);
    event.mutable_created()->set_name("cut off");
  }
  return BlobStore(folder / "blobs").put(batch.SerializeAsString());
}

void loseDatabase(const fs::path& folder) {
  for (const char* tail : {"", "-wal", "-shm"})
    fs::remove(folder / ("holdshelf.sqlite" + std::string(tail)));
}

void damage(const fs::path& folder, const std::string& blob) {
  std::ofstream(BlobStore(folder / "blobs").file(blob), std::ios::trunc) << "damaged";
}

void execute(const fs::path& folder, const std::string& sql) {
  sqlite::Database(folder / "holdshelf.sqlite", sqlite::Database::Access::ReadWrite).execute(sql);
}

/// One event cannot be read: the database is set aside and made anew, though people can go on
/// working on it.
void damageAnEvent(const fs::path& folder) {
  execute(folder, "UPDATE event SET body = x'ff' WHERE number = 6");
}

using Events = std::map<std::int64_t, std::string>;

Events eventsIn(const fs::path& folder) {
  Events events;
  Library::open(folder).forEachEvent(
      [&](const Event& event) { events[event.number()] = event.SerializeAsString(); });
  return events;
}

bool names(const CheckReport& report, const std::string& what) {
  for (const std::string& fault : report.faults())
    if (fault.find(what) != std::string::npos) return true;
  return false;
}

/// Names of the files beside the database that hold this word.
std::vector<std::string> besides(const fs::path& folder, const std::string& word) {
  std::vector<std::string> found;
  for (const auto& entry : fs::directory_iterator(folder))
    if (const std::string name = entry.path().filename().string();
        name.find(word) != std::string::npos)
      found.push_back(name);
  return found;
}

void checkSound(const fs::path& folder) {
  const CheckReport report = checkLibrary(folder, false, {});
  CAPTURE(report.ShortDebugString());
  CHECK(report.faults().empty());
}

}  // namespace

TEST_CASE("repair: without a database, a large commit that was cut off drops none that followed") {
  TempFolder folder;
  const fs::path l = folder / "l";
  addHolds(l, "before", 2);
  cutOff(l, batchesOf(l).back(), 5, 500, "2031-01-01T00:00:00.000Z");
  addHolds(l, "after", 20);
  const Events told = eventsIn(l);
  loseDatabase(l);
  CHECK(checkLibrary(l, true, {}).repaired());
  CHECK(eventsIn(l) == told);
  checkSound(l);
}

TEST_CASE("repair: what only the database has is kept, though a commit was cut off beside it") {
  TempFolder folder;
  const fs::path l = folder / "l";
  addHolds(l, "hold", 3);
  const auto batches = batchesOf(l);
  const Events told = eventsIn(l);
  cutOff(l, batches[1], 5, 50, "2031-01-01T00:00:00.000Z");
  SUBCASE("its batch is damaged") { damage(l, batches[2]); }
  SUBCASE("its batch is lost") { fs::remove(BlobStore(l / "blobs").file(batches[2])); }
  CHECK(names(checkLibrary(l, false, {}), "2 events are in the database only"));
  CHECK(checkLibrary(l, true, {}).repaired());
  CHECK(eventsIn(l) == told);
  loseDatabase(l);  // What was written in its place is enough, also beside what is longer.
  CHECK(checkLibrary(l, true, {}).repaired());
  CHECK(eventsIn(l) == told);
}

TEST_CASE("repair: which of two leaves was stored last cannot be told, and that is said") {
  TempFolder folder;
  const fs::path l = folder / "l";
  addHolds(l, "hold", 3);
  const auto batches = batchesOf(l);
  const Events told = eventsIn(l);
  const std::string other = cutOff(l, batches[1], 5, 50, "2001-01-01T00:00:00.000Z");
  loseDatabase(l);
  const CheckReport report = checkLibrary(l, true, {});
  CHECK(report.repaired());
  CHECK(names(report, "cannot be told which batch of events was the last to be stored, " +
                          batches[2] + " or " + other));
  CHECK(eventsIn(l) == told);  // The later one.
  checkSound(l);
}

TEST_CASE("repair: what the database says otherwise than its batches is kept aside, not deleted") {
  TempFolder folder;
  const fs::path l = folder / "l";
  addHolds(l, "hold", 2);
  const Events told = eventsIn(l);
  Event otherwise;
  REQUIRE(otherwise.ParseFromString(told.at(1)));
  otherwise.mutable_created()->set_name("otherwise");
  {
    const sqlite::Database database(l / "holdshelf.sqlite", sqlite::Database::Access::ReadWrite);
    sqlite::Statement(database, "UPDATE event SET body = ? WHERE number = 1")
        .bindBlob(1, otherwise.SerializeAsString())
        .run();
  }
  CHECK(checkLibrary(l, true, {}).repaired());
  CHECK(eventsIn(l) == told);
  REQUIRE(besides(l, "before-repair") ==
          std::vector<std::string>{"holdshelf.sqlite.before-repair-1"});
  const sqlite::Database kept(l / "holdshelf.sqlite.before-repair-1",
                              sqlite::Database::Access::ReadOnly);
  sqlite::Statement body(kept, "SELECT body FROM event WHERE number = 1");
  REQUIRE(body.step());
  CHECK(body.text(0) == otherwise.SerializeAsString());
  execute(l, "DELETE FROM hold");  // Where its events are the batches', nothing is kept.
  CHECK(checkLibrary(l, true, {}).repaired());
  CHECK_FALSE(fs::exists(l / "holdshelf.sqlite.before-repair-2"));
}

TEST_CASE("check: what is committed while the files are read is no fault") {
  for (const bool repair : {false, true}) {
    CAPTURE(repair);
    TempFolder folder;
    const fs::path l = folder / "l";
    addHolds(l, "hold", 6);
    Library server = Library::open(l);
    int commits = 0;
    const CheckReport report = checkLibrary(l, repair, [&](const std::string&, double done) {
      if (done > 0.5 && commits < 4) addHold(server, "meanwhile " + std::to_string(++commits));
      return true;
    });
    CAPTURE(report.ShortDebugString());
    CHECK(commits > 2);
    CHECK(report.faults().empty());
    CHECK(report.holds() == 6 + commits);
    CHECK(report.events() == 2 * (6 + commits));
    CHECK_FALSE(report.repaired());
  }
}

TEST_CASE("repair: what is committed meanwhile stays") {
  TempFolder folder;
  const fs::path l = folder / "l";
  addHolds(l, "hold", 10);
  std::atomic<int> commits = 0;
  std::atomic<bool> ended = false;
  std::string failure;
  Events told;
  std::jthread server([&](const std::stop_token& stop) {
    try {
      Library library = Library::open(l);
      while (!stop.stop_requested()) {
        const auto start = std::chrono::steady_clock::now();
        Event note;
        note.set_hold("H-0001");
        note.set_noted("seen");
        const auto stored = library.commit({note});
        told[stored.front().number()] = stored.front().SerializeAsString();
        ++commits;
        // For the others' turn. Who waits for SQLite asks now and then: half of the time is theirs.
        std::this_thread::sleep_for(std::chrono::steady_clock::now() - start);
      }
    } catch (const std::exception& error) {
      failure = error.what();
    }
    ended = true;
  });
  for (int i = 0; i < 8; ++i) {
    while (commits < 2 * (i + 1) && !ended)
      std::this_thread::sleep_for(std::chrono::milliseconds(1));
    execute(l, "UPDATE hold SET name = 'changed' WHERE id = 'H-0002'");
    CHECK(checkLibrary(l, true, {}).repaired());
  }
  server.request_stop();
  server.join();
  CHECK(failure == "");
  CHECK(told.size() >= 16);
  const Events events = eventsIn(l);
  std::size_t lost = 0;
  for (const auto& [number, bytes] : told) {
    const auto stored = events.find(number);
    lost += stored == events.end() || stored->second != bytes ? 1 : 0;
  }
  CHECK(lost == 0);
  CHECK(events.size() == told.size() + 20);
  checkSound(l);
}

TEST_CASE("repair: what is committed while a damaged database is set aside stays") {
  TempFolder folder;
  const fs::path l = folder / "l";
  addHolds(l, "hold", 150);
  damageAnEvent(l);
  std::atomic<bool> done = false;
  std::atomic<int> commits = 0, refused = 0;
  std::vector<std::string> told;
  std::thread server([&] {
    while (!done) {
      try {  // As a server does: opened anew for each request.
        Library library = Library::open(l);
        Event made;
        made.mutable_created()->set_name("meanwhile");
        told.push_back(library.commit({made}).front().SerializeAsString());
        ++commits;
      } catch (const BadInput& refusal) {
        ++refused;
        CHECK(isOneSentence(refusal.what() + std::string("\n")));
      }
      std::this_thread::sleep_for(std::chrono::milliseconds(1));
    }
  });
  const auto waitFor = [&](int more) {
    for (const int now = commits; commits < now + more;)
      std::this_thread::sleep_for(std::chrono::milliseconds(1));
  };
  waitFor(3);
  CHECK(checkLibrary(l, true, {}).repaired());
  waitFor(3);
  done = true;
  server.join();
  CHECK(fs::exists(l / "holdshelf.sqlite.damaged-1"));
  const Events events = eventsIn(l);
  std::size_t lost = 0;
  for (const std::string& bytes : told) {
    Event event;
    REQUIRE(event.ParseFromString(bytes));
    const auto stored = events.find(event.number());
    lost += stored == events.end() || stored->second != bytes ? 1 : 0;
  }
  CHECK(lost == 0);
  checkSound(l);
}

TEST_CASE("repair: who has a database open that was set aside stores nothing in it") {
  TempFolder folder;
  const fs::path l = folder / "l";
  addHolds(l, "hold", 4);
  damageAnEvent(l);
  Library before = Library::open(l);
  CHECK(checkLibrary(l, true, {}).repaired());
  const Events told = eventsIn(l);
  CHECK_THROWS_WITH_AS(addHold(before, "into the old one"),
                       doctest::Contains("has taken its place"), StoreUnavailable);
  addHolds(l, "into the new one", 1);
  CHECK(eventsIn(l).size() == told.size() + 2);
  checkSound(l);
}

TEST_CASE("repair: of two at once the second is refused, and nothing of the first's is set aside") {
  TempFolder folder;
  const fs::path l = folder / "l";
  addHolds(l, "hold", 4);
  const Events told = eventsIn(l);
  loseDatabase(l);
  bool refused = false;
  CHECK(checkLibrary(l, true, [&](const std::string&, double) {
          if (refused) return true;
          CHECK_THROWS_WITH_AS(checkLibrary(l, true, {}), doctest::Contains("repairs"), BadInput);
          return refused = true;
        }).repaired());
  CHECK(refused);
  CHECK(eventsIn(l) == told);
  CHECK(besides(l, "damaged").empty());
  CHECK(checkLibrary(l, true, {}).faults().empty());  // Its turn is over.
}

TEST_CASE("repair: a database that was put there meanwhile is not set aside unseen") {
  TempFolder folder;
  const fs::path l = folder / "l", copy = folder / "copy";
  addHolds(l, "hold", 4);
  copyLibrary(Library::open(l), copy, {});
  SUBCASE("there was none") { loseDatabase(l); }
  SUBCASE("there was another") {
    Library::open(l).checkpoint();
    std::ofstream(l / "holdshelf.sqlite", std::ios::trunc) << "no database";
  }
  bool put = false;
  const auto putIt = [&](const std::string&, double) {
    if (put) return true;
    loseDatabase(l);
    fs::copy(copy / "holdshelf.sqlite", l / "holdshelf.sqlite");
    addHolds(l, "meanwhile", 1);
    return put = true;
  };
  CHECK_THROWS_WITH_AS(checkLibrary(l, true, putIt), doctest::Contains("another one by now"),
                       BadInput);
  CHECK(besides(l, "damaged").empty());
  CHECK(besides(l, ".part").empty());
  CHECK(Library::open(l).size() == 5);
  checkSound(l);
}

TEST_CASE("repair: no empty database is made over the batches of one that is lost") {
  TempFolder folder;
  const fs::path l = folder / "l";
  addHolds(l, "hold", 3);
  const Events told = eventsIn(l);
  loseDatabase(l);
  SUBCASE("its file is gone") {}
  SUBCASE("its file is empty") { std::ofstream(l / "holdshelf.sqlite").flush(); }
  const auto before = filesIn(l);
  CHECK_THROWS_WITH_AS(Library::openOrCreate(l), doctest::Contains("check --repair"), BadInput);
  CHECK_THROWS_WITH_AS(Library::open(l), doctest::Contains("check --repair"), BadInput);
  std::ofstream(folder / "sheet.csv") << "name\nnew\n";
  const ProgramRun run = runProgram({"import", (folder / "sheet.csv").string(), "-l", l.string()});
  CHECK(run.status == 1);
  CHECK(isOneSentence(run.err));
  CHECK(run.err.find("check --repair") != std::string::npos);
  CHECK(filesIn(l) == before);
  CHECK(checkLibrary(l, true, {}).repaired());
  CHECK(eventsIn(l) == told);
  addHolds(l, "and on", 1);
  checkSound(l);
}

TEST_CASE("repair: nor over files that cannot be read now") {
  TempFolder folder;
  const fs::path l = folder / "l";
  addHolds(l, "hold", 1);
  const std::string batch = batchesOf(l).front();
  loseDatabase(l);
  const fs::path file = BlobStore(l / "blobs").file(batch);
  fs::rename(file, folder / "batch");
  fs::create_symlink(file.filename(), file);  // Leads to itself, for root as well.
  CHECK_THROWS_WITH_AS(Library::openOrCreate(l), doctest::Contains("cannot be read"), BadInput);
  CHECK_FALSE(fs::exists(l / "holdshelf.sqlite"));
  fs::remove(file);
  fs::rename(folder / "batch", file);
  CHECK(checkLibrary(l, true, {}).repaired());
  CHECK(Library::open(l).size() == 1);
}

TEST_CASE("repair: a history under another one is reported, and comes back as the sentence says") {
  TempFolder folder;
  const fs::path l = folder / "l", new_one = folder / "new", other = folder / "other";
  addHolds(l, "old", 4);
  addHolds(new_one, "new", 2);
  const auto old_batches = batchesOf(l), new_batches = batchesOf(new_one);
  loseDatabase(l);  // And made anew where nothing was seen, as programs before did.
  fs::copy(new_one, l, fs::copy_options::recursive);
  const CheckReport report = checkLibrary(l, false, {});
  CHECK(names(report, "8 events in 4 batches, from " + old_batches[0] + " on"));
  CHECK(names(report, "to another folder without " + new_batches[0]));
  fs::create_directories(other);
  fs::copy(l / "blobs", other / "blobs", fs::copy_options::recursive);
  fs::remove(BlobStore(other / "blobs").file(new_batches[0]));
  CHECK(checkLibrary(other, true, {}).repaired());
  {
    Library library = Library::open(l);
    CHECK(mergeInto(library, mergeSourceOf(Library::open(other)), false, {}).holds_added() == 4);
  }
  CHECK(Library::open(l).size() == 6);
  checkSound(l);
}

TEST_CASE("repair: what came back from a backup after people had worked on is not passed over") {
  TempFolder folder;
  const fs::path l = folder / "l", copy = folder / "copy";
  addHolds(l, "hold", 6);
  copyLibrary(Library::open(l), copy, {});
  const auto batches = batchesOf(l);
  loseDatabase(l);
  fs::remove(BlobStore(l / "blobs").file(batches[2]));
  CHECK(names(checkLibrary(l, true, {}), batches[2] + " is lost or damaged"));
  addHolds(l, "worked on", 2);
  const CheckReport report = checkLibrary(l, true, {}, copy);
  CHECK(names(report, "8 events in 4 batches, from " + batches[2] + " on"));
  {
    Library library = Library::open(l);
    CHECK(mergeInto(library, mergeSourceOf(Library::open(copy)), false, {}).events_added() >= 8);
  }
  CHECK(Library::open(l).size() == 8);
  checkSound(l);
}

TEST_CASE("repair: a full or failing disk sets no sound database aside") {
  int refused = 0;
  for (const DiskFault fault : {DiskFault::Full, DiskFault::WriteError, DiskFault::SyncError})
    for (long at = 1; at < 12; at += 3) {
      CAPTURE(static_cast<int>(fault));
      CAPTURE(at);
      TempFolder folder;
      const fs::path l = folder / "l";
      addHolds(l, "hold", 6);
      const Events told = eventsIn(l);
      execute(l, "UPDATE hold SET name = 'changed'");
      FaultyDisk disk(l);
      disk.arm(fault, at, 1);
      try {
        (void)checkLibrary(l, true, {});
      } catch (const BadInput& failure) {
        ++refused;
        CHECK(isOneSentence(failure.what() + std::string("\n")));
      }
      disk.restart();
      CHECK(besides(l, "damaged").empty());
      CHECK(eventsIn(l) == told);
      (void)checkLibrary(l, true, {});
      CHECK(eventsIn(l) == told);
      checkSound(l);
    }
  CHECK(refused > 3);
}

namespace {

/// The same, left as files while it was open: it is in the log beside the database.
void damageInTheLog(const fs::path& folder) {
  const fs::path copy = folder.string() + "-copy";
  {
    const Library open = Library::open(folder);
    damageAnEvent(folder);
    fs::copy(folder, copy, fs::copy_options::recursive);
  }
  REQUIRE(fs::file_size(copy / "holdshelf.sqlite-wal") > 0);
  fs::remove_all(folder);
  fs::rename(copy, folder);
}

/// Repairs on a disk that goes wrong at each stride-th step, what is wrong in several ways.
void repairAtEach(long stride) {
  struct Wrong {
    const char* what;
    std::function<void(const fs::path&)> make;
  };
  const std::vector<Wrong> all_wrong = {
      {"a row", [](const fs::path& l) { execute(l, "UPDATE hold SET name = 'changed'"); }},
      {"an event", damageAnEvent},
      {"an event, in the log", damageInTheLog},
      {"no database", loseDatabase}};
  for (const auto& [what, make] : all_wrong)
    for (const DiskFault fault :
         {DiskFault::PowerCut, DiskFault::Full, DiskFault::WriteError, DiskFault::SyncError}) {
      CAPTURE(what);
      Events told;
      const long steps = failAtEachStep(
          fault, stride,
          {[&, &make = make](const TempFolder& folder) {
             addHolds(folder / "l", "hold", 6);
             told = eventsIn(folder / "l");
             make(folder / "l");
           },
           [](const TempFolder& folder) { (void)checkLibrary(folder / "l", true, {}); },
           [&](const TempFolder& folder, bool said) {
             if (said) checkSound(folder / "l");
             (void)checkLibrary(folder / "l", true, {});
             CHECK(eventsIn(folder / "l") == told);
             checkSound(folder / "l");
           }});
      CHECK(steps > 4);
    }
}

}  // namespace

TEST_CASE("repair: cut off at any step, another one brings all of it back") { repairAtEach(9); }

TEST_CASE("repair: the same at each single step" * doctest::skip()) { repairAtEach(1); }

TEST_CASE("repair: an event that cannot be read costs no other one, and stays where it is") {
  TempFolder folder;
  const fs::path l = folder / "l";
  addHolds(l, "hold", 4);
  const Events told = eventsIn(l);
  fs::remove(BlobStore(l / "blobs").file(batchesOf(l)[2]));
  SUBCASE("the second of a hold") {
    execute(l, "UPDATE event SET body = x'ff' WHERE number = 6");
    CHECK(checkLibrary(l, true, {}).repaired());
    Events left = told;
    left.erase(6);
    CHECK(eventsIn(l) == left);
  }
  SUBCASE("the first of a hold: there is none to make of the others") {
    execute(l, "UPDATE event SET body = x'ff' WHERE number = 5");
    CHECK(names(checkLibrary(l, true, {}), "1 events are of holds whose first events are lost"));
    Events left = told;
    left.erase(5);
    left.erase(6);
    CHECK(eventsIn(l) == left);
  }
  REQUIRE(fs::exists(l / "holdshelf.sqlite.damaged-1"));
  const sqlite::Database aside(l / "holdshelf.sqlite.damaged-1",
                               sqlite::Database::Access::ReadOnly);
  sqlite::Statement events(aside, "SELECT count(*) FROM event");
  REQUIRE(events.step());
  CHECK(events.integer(0) == 8);
  checkSound(l);
}

TEST_CASE("check: of damaged events only its own sentences are printed") {
  TempFolder folder;
  const fs::path l = folder / "l";
  addHolds(l, "hold", 1);
  execute(l, "UPDATE event SET body = x'2201ff' WHERE number = 2");  // "who", not in UTF-8.
  const ProgramRun run = runProgram({"check", "-l", l.string()});
  CHECK(run.status == 1);
  CHECK(run.err.find("libprotobuf") == std::string::npos);
}

TEST_CASE("repair: a database without one of its tables is set aside and made anew") {
  for (const char* table : {"hold", "event", "batch"}) {
    CAPTURE(std::string(table));
    TempFolder folder;
    const fs::path l = folder / "l";
    addHolds(l, "hold", 3);
    const Events told = eventsIn(l);
    execute(l, std::string("DROP TABLE ") + table);
    CHECK_FALSE(checkLibrary(l, false, {}).faults().empty());
    CHECK(checkLibrary(l, true, {}).repaired());
    CHECK(fs::exists(l / "holdshelf.sqlite.damaged-1"));
    CHECK(eventsIn(l) == told);
    checkSound(l);
  }
}

TEST_CASE("repair: a file that is damaged in the copy, too, keeps no other from coming back") {
  TempFolder folder;
  const fs::path l = folder / "l", copy = folder / "copy";
  addHolds(l, "hold", 3);
  copyLibrary(Library::open(l), copy, {});
  for (const char* name : {"hold 1", "hold 2", "hold 3"})
    damage(l, sha256Hex("mesh of " + std::string(name)));
  const std::string in_both = sha256Hex("mesh of hold 2");
  damage(copy, in_both);
  const CheckReport report = checkLibrary(l, true, {}, copy);
  CHECK(report.mended_size() == 2);
  CHECK(names(report, "File " + in_both + " is damaged in " + copy.string() + ", too"));
  CHECK(readFile(BlobStore(l / "blobs").file(in_both)) == "damaged");
  CHECK(Library::open(l).blobs().get(sha256Hex("mesh of hold 3")) == "mesh of hold 3");
}

TEST_CASE("repair: database and last batch both gone: the backup, which lists it, brings it back") {
  TempFolder folder;
  const fs::path l = folder / "l", copy = folder / "copy";
  addHolds(l, "hold", 4);
  copyLibrary(Library::open(l), copy, {});
  const auto batches = batchesOf(l);
  const auto before = filesIn(copy);
  const Events told = eventsIn(l);
  const std::string mesh = sha256Hex("mesh of hold 4");
  loseDatabase(l);
  SUBCASE("its file is gone") { fs::remove(BlobStore(l / "blobs").file(batches[3])); }
  SUBCASE("it is damaged") { damage(l, batches[3]); }
  SUBCASE("with all that it names, and the one before") {
    for (const std::string& file : {batches[2], batches[3], mesh})
      fs::remove(BlobStore(l / "blobs").file(file));
  }
  SUBCASE("beside one that was cut off later") {
    fs::remove(BlobStore(l / "blobs").file(batches[3]));
    const std::string other = cutOff(l, batches[2], 7, 50, "2031-01-01T00:00:00.000Z");
    const CheckReport report = checkLibrary(l, true, {}, copy);
    CHECK(
        names(report, batches[3] + " or " + other + ": the first was taken, which the copy lists"));
    CHECK(eventsIn(l) == told);
  }
  SUBCASE("first made anew without it: its file gone") {
    fs::remove(BlobStore(l / "blobs").file(batches[3]));
    CHECK(checkLibrary(l, true, {}).repaired());
    CHECK(eventsIn(l).size() == 6);
  }
  SUBCASE("first made anew without it: damaged") {
    damage(l, batches[3]);
    CHECK(names(checkLibrary(l, true, {}), batches[3].substr(2)));
    CHECK(eventsIn(l).size() == 6);
  }
  (void)checkLibrary(l, true, {}, copy);
  CHECK(eventsIn(l) == told);
  CHECK(batchesOf(l) == batches);
  CHECK(Library::open(l).blobs().get(mesh) == "mesh of hold 4");
  CHECK(filesIn(copy) == before);
  checkSound(l);
}

TEST_CASE("repair: where people have worked on without the last batch, the copy's is reported") {
  TempFolder folder;
  const fs::path l = folder / "l", copy = folder / "copy";
  addHolds(l, "hold", 4);
  copyLibrary(Library::open(l), copy, {});
  const std::string last = batchesOf(l).back();
  loseDatabase(l);
  const auto workOn = [&] {
    CHECK(checkLibrary(l, true, {}).repaired());
    addHolds(l, "worked on", 1);
  };
  SUBCASE("its file is gone: remarked") {
    fs::remove(BlobStore(l / "blobs").file(last));
    workOn();
    const CheckReport report = checkLibrary(l, true, {}, copy);
    CHECK(report.faults().empty());
    REQUIRE(report.remarks_size() == 1);
    CHECK(report.remarks(0).find("lists 1 batches") != std::string::npos);
    CHECK(report.remarks(0).find("holdshelf merge") != std::string::npos);
  }
  SUBCASE("it was damaged, and comes back: a history beside") {
    damage(l, last);
    workOn();
    CHECK(names(checkLibrary(l, true, {}, copy), "2 events in 1 batches, from " + last + " on"));
  }
  CHECK(Library::open(l).size() == 4);
  {
    Library library = Library::open(l);
    CHECK(mergeInto(library, mergeSourceOf(Library::open(copy)), false, {}).events_added() >= 2);
  }
  CHECK(Library::open(l).size() == 5);
  CHECK(checkLibrary(l, true, {}, copy).faults().empty());
}

TEST_CASE("repair: of a copy that was worked on as this one was, only lost files are taken") {
  TempFolder folder;
  const fs::path l = folder / "l", copy = folder / "copy";
  addHolds(l, "hold", 2);
  copyLibrary(Library::open(l), copy, {});
  addHolds(l, "here", 2);
  addHolds(copy, "there", 3);
  const std::string mesh = sha256Hex("mesh of hold 1");
  fs::remove(BlobStore(l / "blobs").file(mesh));
  const CheckReport report = checkLibrary(l, true, {}, copy);
  CHECK(report.faults().empty());
  CHECK(report.mended_size() == 1);
  REQUIRE(report.remarks_size() == 1);
  CHECK(report.remarks(0).find("lists 3 batches") != std::string::npos);
  CHECK(Library::open(l).blobs().names().size() == 8);
  CHECK(Library::open(l).size() == 4);
}

TEST_CASE("repair: a backup that was cut off is still known as one after the disk failed once") {
  TempFolder folder;
  const fs::path l = folder / "l", b = folder / "b";
  addHolds(l, "hold", 1);
  (void)backupLibrary(Library::open(l), b, {});
  addHolds(l, "not in it", 4);
  int asked = 0;
  CHECK_THROWS_AS(
      backupLibrary(Library::open(l), b, [&](const std::string&, double) { return ++asked <= 8; }),
      Interrupted);
  REQUIRE(fs::exists(b / kUnfinishedBackup));
  const auto batches = batchesOf(b);
  {
    FaultyDisk disk(b);
    const auto fail = [&](const std::string&, double) {
      disk.arm(DiskFault::NoDatabase, 1, 1);
      return true;
    };
    CHECK_THROWS_AS(checkLibrary(b, true, fail), BadInput);
    CHECK(disk.happened());
    disk.restart();
  }
  CHECK(fs::exists(b / kUnfinishedBackup));
  const CheckReport report = checkLibrary(b, true, {});
  CAPTURE(report.ShortDebugString());
  CHECK(report.faults().empty());
  CHECK_FALSE(report.repaired());
  CHECK(batchesOf(b) == batches);
  CHECK(fs::exists(b / kUnfinishedBackup));
}

TEST_CASE("repair: a file that cannot be read at the moment is not taken for damaged or lost") {
  TempFolder folder;
  addHolds(folder / "whole", "hold", 3);
  const Events told = eventsIn(folder / "whole");
  const auto batches = batchesOf(folder / "whole");
  int refused = 0;
  for (const bool lost : {false, true})
    for (long at = 1;; ++at) {
      CAPTURE(lost);
      CAPTURE(at);
      TempFolder here;
      const fs::path l = here / "l";
      fs::copy(folder / "whole", l, fs::copy_options::recursive);
      if (lost) loseDatabase(l);
      FaultyDisk disk(l);
      disk.arm(DiskFault::ReadError, at, 1);
      try {
        (void)checkLibrary(l, true, {});
      } catch (const BadInput& refusal) {
        ++refused;
        CHECK(isOneSentence(refusal.what() + std::string("\n")));
        CHECK(std::string(refusal.what()).find("cannot be read (") != std::string::npos);
        CHECK(Library::isIn(l) != lost);
      }
      if (!disk.happened()) break;
      disk.restart();
      (void)checkLibrary(l, true, {});
      CHECK(eventsIn(l) == told);
      CHECK(batchesOf(l) == batches);
      checkSound(l);
    }
  CHECK(refused >= 6);
}

TEST_CASE("check: a file that cannot be read at the moment is named as that") {
  TempFolder folder;
  const fs::path l = folder / "l";
  addHolds(l, "hold", 3);
  long at = 1;
  for (bool more = true; more; ++at) {
    CAPTURE(at);
    FaultyDisk disk(l);
    disk.arm(DiskFault::ReadError, at, 1);
    const CheckReport report = checkLibrary(l, false, {});
    more = disk.happened();
    CAPTURE(report.ShortDebugString());
    CHECK(names(report, "cannot be read (") == more);
    for (const char* wrong : {"lost", "damaged", "changed", "are not those", "database only"})
      CHECK_FALSE(names(report, wrong));
  }
  CHECK(at > 6);
}

TEST_CASE("repair: what is lost and cannot be read in the copy either is not said to be damaged") {
  TempFolder folder;
  const fs::path l = folder / "l", copy = folder / "copy";
  addHolds(l, "hold", 3);
  copyLibrary(Library::open(l), copy, {});
  loseDatabase(l);
  const Events told = eventsIn(copy);
  const auto batches = batchesOf(copy);
  for (const std::string& batch : {batches[1], sha256Hex("mesh of hold 3")})
    fs::remove(BlobStore(l / "blobs").file(batch));
  {
    FaultyDisk disk(copy);
    disk.arm(DiskFault::ReadError, 1, 1);
    CHECK_THROWS_WITH_AS(checkLibrary(l, true, {}, copy), doctest::Contains("cannot be read ("),
                         BadInput);
    CHECK(disk.happened());
  }
  CHECK_FALSE(Library::isIn(l));
  const CheckReport report = checkLibrary(l, true, {}, copy);
  CHECK(report.mended_size() == 1);  // The other one came before.
  CHECK(eventsIn(l) == told);
  checkSound(l);
}

TEST_CASE("repair: a damaged file stays until the one from the copy is whole beside it") {
  TempFolder folder;
  const fs::path l = folder / "l", copy = folder / "copy";
  addHolds(l, "hold", 1);
  copyLibrary(Library::open(l), copy, {});
  const std::string mesh = sha256Hex("mesh of hold 1");
  damage(l, mesh);
  for (const DiskFault fault : {DiskFault::Full, DiskFault::WriteError, DiskFault::SyncError}) {
    CAPTURE(static_cast<int>(fault));
    FaultyDisk disk(l / "blobs");
    disk.arm(fault, 1, 1);
    CHECK_THROWS_AS(checkLibrary(l, true, {}, copy), BadInput);
    disk.restart();
    CHECK(readFile(BlobStore(l / "blobs").file(mesh)) == "damaged");
  }
  CHECK(checkLibrary(l, true, {}, copy).mended_size() == 1);
  checkSound(l);
}
