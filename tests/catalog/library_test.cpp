// SPDX-License-Identifier: Apache-2.0
#include "catalog/library.h"

#include <doctest/doctest.h>
#include <fcntl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <fstream>
#include <map>
#include <optional>
#include <random>
#include <string>
#include <vector>

#include "catalog/hold_record.h"
#include "mesh/bad_input.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using holdshelf::test::TempFolder;

namespace {

Event created(const std::string& id, const std::string& name = "", const std::string& bin = "") {
  Event event;
  event.set_hold(id);
  event.mutable_created()->set_name(name);
  event.mutable_created()->set_bin(bin);
  event.mutable_created()->set_status(SHELF);
  return event;
}

Event scanned(const std::string& id, double protrusion_mm) {
  Event event;
  event.set_hold(id);
  event.mutable_scanned()->set_id(id + "/1");
  event.mutable_scanned()->mutable_shape()->mutable_protrusion_mm()->set_value(protrusion_mm);
  event.mutable_scanned()->mutable_shape()->add_sections()->set_rotation_deg(5);
  return event;
}

std::size_t filesBelow(const std::filesystem::path& folder) {
  std::size_t count = 0;
  if (std::filesystem::exists(folder))
    for (const auto& entry : std::filesystem::recursive_directory_iterator(folder))
      count += entry.is_regular_file() ? 1 : 0;
  return count;
}

}  // namespace

TEST_CASE("Library: a hold comes back as its events left it, also after reopening") {
  TempFolder folder;
  {
    Library library = Library::openOrCreate(folder.path());
    const auto stored = library.commit({created("", "Quarry ledge", "B4"), scanned("", 31.5)});
    REQUIRE(stored.size() == 2);
    CHECK(stored[0].hold() == "H-0001");
    CHECK(stored[1].hold() == "H-0001");
    CHECK(stored[1].number() == 2);
  }
  const Library library = Library::open(folder.path());
  const Hold hold = library.hold("H-0001");
  CHECK(hold.name() == "Quarry ledge");
  CHECK(hold.bin() == "B4");
  REQUIRE(hold.scans_size() == 1);
  CHECK(hold.scans(0).shape().protrusion_mm().value() == 31.5);
  CHECK(hold.scans(0).shape().sections_size() == 0);
  CHECK(library.currentFullScan("H-0001").shape().sections_size() == 1);
  CHECK(library.history("H-0001").size() == 2);
}

TEST_CASE("Library: an existing id is refused and nothing of the commit is stored") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  library.commit({created("H-0007")});
  const std::size_t files = filesBelow(folder.path() / "blobs");
  CHECK_THROWS_AS(library.commit({created("H-0008"), created("H-0007")}), BadInput);
  CHECK_THROWS_AS(library.commit({created("H-0009"), created("H-0009")}), BadInput);
  CHECK(library.size() == 1);
  CHECK_FALSE(library.has("H-0008"));
  CHECK(library.lastEvent() == 1);
  CHECK(filesBelow(folder.path() / "blobs") == files);
  CHECK(library.commit({created("")}).front().hold() == "H-0002");
}

/// Whether this process holds SQLite's shared lock on a file, as another process sees it: the 510
/// bytes from 0x40000002 (SQLite's os.h: PENDING_BYTE, SHARED_FIRST, SHARED_SIZE).
bool heldByUs(const std::filesystem::path& file) {
  const pid_t child = fork();
  if (child == 0) {
    const int handle = ::open(file.c_str(), O_RDWR | O_CLOEXEC);
    struct flock range = {};
    range.l_type = F_WRLCK;
    range.l_whence = SEEK_SET;
    range.l_start = 0x40000002;
    range.l_len = 510;
    const bool asked = handle >= 0 && fcntl(handle, F_GETLK, &range) == 0;
    _exit(asked && range.l_type != F_UNLCK ? 0 : 1);
  }
  int status = -1;
  waitpid(child, &status, 0);
  return status == 0;
}

TEST_CASE("Library: opening it once more in a process leaves the locks of the first in place") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  library.commit({created("H-0001")});
  REQUIRE(heldByUs(folder / "holdshelf.sqlite"));
  { CHECK(Library::open(folder.path()).has("H-0001")); }
  CHECK(heldByUs(folder / "holdshelf.sqlite"));
}

TEST_CASE("Library: an unknown id is refused with the nearest one") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  library.commit({created("H-0001")});
  CHECK_THROWS_WITH_AS(library.hold("H-0010"), doctest::Contains("did you mean H-0001?"), BadInput);
  CHECK_THROWS_WITH_AS(library.hold("ledge"), doctest::Contains("holdshelf find"), BadInput);
  CHECK_THROWS_AS(library.commit({scanned("H-0002", 1)}), BadInput);
}

TEST_CASE("Library: a folder without one is refused, and nothing is made there") {
  TempFolder folder;
  CHECK_THROWS_AS(Library::open(folder / "none"), BadInput);
  CHECK(filesBelow(folder.path()) == 0);
}

TEST_CASE("Library: a file of a newer program is left alone") {
  TempFolder folder;
  { Library::openOrCreate(folder.path()); }
  {
    sqlite::Database database(folder / "holdshelf.sqlite", sqlite::Database::Access::ReadWrite);
    database.execute("PRAGMA user_version = 99");
  }
  CHECK_THROWS_WITH_AS(Library::open(folder.path()), doctest::Contains("newer program"), BadInput);
}

TEST_CASE("Library: a file of an older program is brought up to date by opening it") {
  TempFolder folder;
  Hold whole;
  std::string row;
  const auto searchOf = [](const Library& library) {
    sqlite::Statement statement(library.database(), "SELECT search FROM hold WHERE id = 'H-0001'");
    REQUIRE(statement.step());
    return std::string(statement.blob(0));
  };
  {
    Library library = Library::openOrCreate(folder.path());
    library.commit({created("H-0001", "Quarry ledge", "B4"), scanned("H-0001", 31.5)});
    whole = library.hold("H-0001");
    row = searchOf(library);
  }
  {
    sqlite::Database database(folder / "holdshelf.sqlite", sqlite::Database::Access::ReadWrite);
    // Rows as no program of today writes them.
    database.execute(
        "UPDATE hold SET search = x'01', body = x'', bin = ''; PRAGMA user_version = 1");
  }
  const Library library = Library::open(folder.path());
  CHECK(library.hold("H-0001").SerializeAsString() == whole.SerializeAsString());
  CHECK(searchOf(library) == row);
  sqlite::Statement version(library.database(), "PRAGMA user_version");
  REQUIRE(version.step());
  CHECK(version.integer(0) == 2);
}

TEST_CASE("Library: every cut of the database file is refused or read whole, never half") {
  TempFolder folder;
  {
    Library library = Library::openOrCreate(folder.path());
    library.commit({created("H-0001", "a"), scanned("H-0001", 12)});
    library.checkpoint();
  }
  const std::string whole = readFile(folder / "holdshelf.sqlite");
  for (std::size_t size = 0; size < whole.size(); size += 1 + whole.size() / 97) {
    CAPTURE(size);
    TempFolder cut;
    std::ofstream(cut / "holdshelf.sqlite", std::ios::binary)
        .write(whole.data(), static_cast<std::streamsize>(size));
    try {
      const Library library = Library::open(cut.path());
      // An empty file is a new library; a page-aligned cut may still open.
      if (library.has("H-0001")) CHECK(library.hold("H-0001").name() == "a");
    } catch (const BadInput&) {
    } catch (const sqlite::Error&) {
    }
  }
}

TEST_CASE("Library: the state at a date") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  Event made = created("H-0001"), moved;
  made.set_at("2031-01-10T10:00:00.000Z");
  moved.set_hold("H-0001");
  moved.set_at("2031-02-01T10:00:00.000Z");
  moved.mutable_moved()->set_status(WALL);
  moved.mutable_moved()->set_zone("slab");
  library.commit({made, moved});
  const auto events = library.history("H-0001");
  CHECK_FALSE(holdAsOf(events, "2031-01-09T23:59:59.999Z"));
  CHECK(holdAsOf(events, "2031-01-31T23:59:59.999Z")->status() == SHELF);
  CHECK(holdAsOf(events, "2031-02-01T23:59:59.999Z")->zone() == "slab");
  CHECK(library.hold("H-0001").status() == WALL);
}

namespace {

/// The store as one would write it without a disk: the oracle of the random test.
struct Model {
  struct Record {
    std::string name, bin;
    Status status = SHELF;
    std::vector<double> protrusions;
    int notes = 0;
    std::string crate, zone, colour;
    std::optional<double> rotation_deg;
    int count = 0, photos = 0;
  };
  std::map<std::string, Record> holds;
  std::map<std::string, int> of_subject;  // Events about other things than holds.
  std::int64_t events = 0;
};

/// One random event on the model and, as a message, for the library.
Event randomEvent(Model& model, std::mt19937& random) {
  const auto below = [&](int n) { return static_cast<int>(random() % static_cast<unsigned>(n)); };
  auto target = model.holds.begin();
  std::advance(target, below(static_cast<int>(model.holds.size())));
  auto& [id, record] = *target;
  Event event;
  event.set_hold(id);
  switch (below(8)) {
    case 0:
      record.name = "name " + std::to_string(below(1000));
      event.mutable_edited()->add_fields("name");
      event.mutable_edited()->set_name(record.name);
      event.mutable_edited()->set_bin("not among the fields");
      break;
    case 1: {
      constexpr Status kStatuses[] = {SHELF, CRATE, WALL, WASH, NEEDS_LOOK, RETIRED};
      record.status = kStatuses[below(6)];
      event.mutable_moved()->set_status(record.status);
      // Given with every status; only those that belong to it are kept.
      const std::string place = "place " + std::to_string(below(9));
      const double turn = below(360);
      event.mutable_moved()->set_crate(place);
      event.mutable_moved()->set_zone(place);
      event.mutable_moved()->set_rotation_deg(turn);
      record.crate = record.status == CRATE ? place : "";
      record.zone = record.status == WALL ? place : "";
      record.rotation_deg.reset();
      if (record.status == WALL) record.rotation_deg = turn;
      break;
    }
    case 3:
      record.count = 1 + below(20);
      event.mutable_edited()->add_fields("count");
      event.mutable_edited()->set_count(record.count);
      break;
    case 4:
      record.colour = below(3) == 0 ? "" : "colour " + std::to_string(below(5));
      event.mutable_edited()->add_fields("colour");
      event.mutable_edited()->set_colour(record.colour);
      break;
    case 5:
      ++record.photos;
      event.set_photographed("0123");
      break;
    case 6: {
      const std::string subject = "crate/" + std::to_string(below(5));
      event.clear_hold();
      event.set_subject(subject);
      event.set_noted("something");
      ++model.of_subject[subject];
      break;
    }
    case 2:
      record.protrusions.push_back(below(90));
      event.mutable_scanned()->set_id("scan");
      event.mutable_scanned()->mutable_shape()->mutable_protrusion_mm()->set_value(
          record.protrusions.back());
      break;
    default:
      ++record.notes;
      event.set_noted("seen");
  }
  return event;
}

void checkSame(const Library& library, const Model& model) {
  REQUIRE(library.size() == static_cast<std::int64_t>(model.holds.size()));
  CHECK(library.lastEvent() == model.events);
  library.forEachHold([&](std::int64_t, const Hold& hold) {
    CAPTURE(hold.id());
    const auto found = model.holds.find(hold.id());
    REQUIRE(found != model.holds.end());
    const Model::Record& record = found->second;
    CHECK(hold.name() == record.name);
    CHECK(hold.bin() == record.bin);
    CHECK(hold.status() == record.status);
    CHECK(hold.notes_size() == record.notes);
    CHECK(hold.crate() == record.crate);
    CHECK(hold.zone() == record.zone);
    CHECK(hold.has_rotation_deg() == record.rotation_deg.has_value());
    if (record.rotation_deg) CHECK(hold.rotation_deg() == *record.rotation_deg);
    CHECK(hold.count() == record.count);
    CHECK(hold.said_colour() == record.colour);
    CHECK(hold.colour().name() == record.colour);
    CHECK(hold.photo_blobs_size() == record.photos);
    REQUIRE(hold.scans_size() == static_cast<int>(record.protrusions.size()));
    for (int i = 0; i < hold.scans_size(); ++i)
      CHECK(hold.scans(i).shape().protrusion_mm().value() ==
            record.protrusions[static_cast<std::size_t>(i)]);
  });
  for (const auto& [subject, events] : model.of_subject)
    CHECK(library.history(subject).size() == static_cast<std::size_t>(events));
}

}  // namespace

TEST_CASE("Library: 10 000 random operations against an in-memory model, with reopening") {
  TempFolder folder;
  std::mt19937 random(20310504);
  Model model;
  std::optional<Library> library(Library::openOrCreate(folder.path()));
  int operations = 0;
  while (operations < 10'000) {
    std::vector<Event> events;
    const int size = 1 + static_cast<int>(random() % 60);
    bool refused = false;
    Model after = model;
    for (int i = 0; i < size; ++i, ++operations) {
      ++after.events;
      if (after.holds.empty() || random() % 50 == 0) {
        const std::string id = "X-" + std::to_string(random() % 400);
        refused = refused || after.holds.count(id) != 0;
        after.holds[id] = {"", "bin " + id, SHELF, {}, 0, "", "", "", {}, 0, 0};
        events.push_back(created(id, "", "bin " + id));
      } else {
        events.push_back(randomEvent(after, random));
      }
    }
    if (refused) {
      CHECK_THROWS_AS(library->commit(events), BadInput);
    } else {
      library->commit(events);
      model = after;
    }
    if (random() % 12 == 0) {
      library.reset();
      library.emplace(Library::open(folder.path()));
      checkSame(*library, model);
    }
  }
  checkSame(*library, model);
}
