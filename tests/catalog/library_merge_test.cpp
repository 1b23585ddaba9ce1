// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_merge.h"

#include <doctest/doctest.h>

#include <map>

#include "catalog/climb_place.h"
#include "catalog/climb_record.h"
#include "catalog/climb_strip.h"
#include "catalog/climbs.h"
#include "catalog/crate_holds.h"
#include "catalog/gym.h"
#include "catalog/hold_record.h"
#include "catalog/library_check.h"
#include "catalog/library_copy.h"
#include "catalog/library_exchange.h"
#include "catalog/library_lot.h"
#include "mesh/bad_input.h"
#include "tests/catalog/climb_night.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

Event created(const std::string& id, const std::string& name) {
  Event event;
  event.set_hold(id);
  event.mutable_created()->set_name(name);
  event.mutable_created()->set_status(SHELF);
  return event;
}

Event scanned(Library& library, const std::string& id, const std::string& mesh) {
  Event event;
  event.set_hold(id);
  event.mutable_scanned()->set_id(mesh);
  event.mutable_scanned()->set_mesh_blob(library.blobs().put(mesh));
  return event;
}

Event noted(const std::string& id, const std::string& text) {
  Event event;
  event.set_hold(id);
  event.set_noted(text);
  return event;
}

Event moved(const std::string& id, Status status, const std::string& at) {
  Event event;
  event.set_hold(id);
  event.set_at(at);
  event.mutable_moved()->set_status(status);
  return event;
}

}  // namespace

TEST_CASE("mergeInto: ids that clash, a scan in both, and all of it only once") {
  TempFolder folder;
  Library ours = Library::openOrCreate(folder / "ours");
  Library theirs = Library::openOrCreate(folder / "theirs");
  ours.commit({created("H-0001", "our ledge"), scanned(ours, "H-0001", "mesh of a ledge")});
  ours.commit({created("H-0002", "our bowl")});
  theirs.commit({created("H-0001", "their fin"), scanned(theirs, "H-0001", "mesh of a fin")});
  theirs.commit({created("H-0009", "their ledge"), scanned(theirs, "H-0009", "mesh of a ledge"),
                 noted("H-0009", "spins")});

  const MergeReport dry = mergeInto(ours, mergeSourceOf(theirs), true, {});
  CHECK(dry.events_added() == 6);  // With the note of the renamed one.
  CHECK(ours.lastEvent() == 3);

  const MergeReport report = mergeInto(ours, mergeSourceOf(theirs), false, {});
  CHECK(report.holds_added() == 1);
  CHECK(report.files_added() == 1);  // The ledge's mesh is here already.
  REQUIRE(report.renamed_size() == 1);
  CHECK(report.renamed(0).from() == "H-0001");
  CHECK(report.renamed(0).to() == "H-0003");
  REQUIRE(report.joined_size() == 1);
  CHECK(report.joined(0).from() == "H-0009");
  CHECK(report.joined(0).to() == "H-0001");
  CHECK(ours.size() == 3);
  CHECK(ours.hold("H-0003").name() == "their fin");
  REQUIRE(ours.hold("H-0003").notes_size() == 1);
  CHECK(ours.hold("H-0003").notes(0).text().find("H-0001") != std::string::npos);
  const Hold ledge = ours.hold("H-0001");
  CHECK(ledge.name() == "our ledge");
  REQUIRE(ledge.notes_size() == 2);
  CHECK(ledge.notes(0).text().find("their ledge") != std::string::npos);
  CHECK(ledge.notes(1).text() == "spins");

  const MergeReport again = mergeInto(ours, mergeSourceOf(theirs), false, {});
  CHECK(again.events_added() == 0);
  CHECK(again.events_known() == 5);
  CHECK(checkLibrary(folder / "ours", false, {}).faults().empty());
}

TEST_CASE("mergeInto: a library that is changed meanwhile is left as it was left by that") {
  TempFolder folder;
  Library ours = Library::openOrCreate(folder / "ours");
  Library theirs = Library::openOrCreate(folder / "theirs");
  ours.commit({created("H-0001", "our ledge")});
  theirs.commit({created("H-0009", "their fin"), scanned(theirs, "H-0009", "mesh of a fin")});
  Library somebody = Library::open(folder / "ours");
  bool first = true;
  const auto meanwhile = [&](const std::string&, double) {
    if (first) somebody.commit({created("H-0009", "our bowl")});
    first = false;
    return true;
  };
  CHECK_THROWS_WITH_AS(mergeInto(ours, mergeSourceOf(theirs), false, meanwhile),
                       doctest::Contains("merge again, nothing has been merged"), BadInput);
  CHECK(ours.lastEvent() == 2);
  CHECK(ours.hold("H-0009").name() == "our bowl");
  CHECK(mergeInto(ours, mergeSourceOf(theirs), false, meanwhile).renamed_size() == 1);
  CHECK(ours.size() == 3);
}

TEST_CASE("mergeInto: two copies that went different ways come together, by time") {
  TempFolder folder;
  Library ours = Library::openOrCreate(folder / "ours");
  Event made = created("H-0001", "ledge");
  made.set_at("2031-01-01T00:00:00.000Z");
  ours.commit({made});
  copyLibrary(ours, folder / "copy", {});
  Library copy = Library::open(folder / "copy");
  ours.commit({moved("H-0001", WASH, "2031-03-01T00:00:00.000Z")});
  copy.commit({moved("H-0001", WALL, "2031-02-01T00:00:00.000Z"), created("H-0002", "new there")});
  CHECK(mergeInto(ours, mergeSourceOf(copy), false, {}).events_added() == 2);
  CHECK(mergeInto(copy, mergeSourceOf(ours), false, {}).events_added() == 1);
  for (const Library* library : {&ours, &copy}) {
    CHECK(library->hold("H-0001").status() == WASH);
    CHECK(library->hold("H-0002").name() == "new there");
    CHECK(holdAsOf(library->history("H-0001"), "2031-02-15T00:00:00.000Z")->status() == WALL);
  }
  for (const char* name : {"ours", "copy"}) {
    CAPTURE(std::string(name));
    CHECK(checkLibrary(folder / name, false, {}).faults().empty());
    CHECK(checkLibrary(folder / name, true, {}).faults().empty());
  }
}

TEST_CASE("mergeInto: things beside holds come along with the ids of their holds renamed") {
  TempFolder folder;
  Library ours = Library::openOrCreate(folder / "ours");
  Library theirs = Library::openOrCreate(folder / "theirs");
  ours.commit({created("H-0001", "ours")});
  Event gym;
  gym.set_subject("gym");
  gym.set_noted("a description");
  theirs.commit({created("H-0001", "theirs"), gym});
  CHECK(theirs.history("gym").size() == 1);
  mergeInto(ours, mergeSourceOf(theirs), false, {});
  CHECK(ours.history("gym").size() == 1);
  Library third = Library::openOrCreate(folder / "third");
  Event other = gym;
  other.set_noted("another description");
  third.commit({other});
  CHECK(mergeInto(third, mergeSourceOf(theirs), false, {}).left_out_size() == 1);
  CHECK(third.history("gym").size() == 1);
}

namespace {

/// A gym that numbers from H-0001 and C-0001 as any other: a lot of 10, a crate with 3 of it, of
/// which H-0005 hung and was put back, and with H-0003 in the place of H-0002.
Library gymWithLot(const std::filesystem::path& folder) {
  Library library = Library::openOrCreate(folder);
  describeGym(library, caveGym());
  for (const char* id : {"H-0001", "H-0002", "H-0003"}) addHold(library, id, "A1");
  Event count;
  count.set_hold("H-0001");
  count.mutable_edited()->add_fields("count");
  count.mutable_edited()->set_count(10);
  library.commit({count});
  startClimb(library, wanted("theirs"));
  addPieces(library, "C-0001", {"H-0001"}, 3);
  CHECK(placePiece(library, "C-0001", "H-0004", at(1, 1)) == "H-0005");
  dropHolds(library, "C-0001", {"H-0005"});
  addHolds(library, "C-0001", {"H-0002"});
  swapHold(library, "C-0001", "H-0002", "H-0003", 0);
  return library;
}

/// Where all these ids are taken: by twelve holds and, or not, a crate.
Library gymWithIds(const std::filesystem::path& folder, bool with_crate) {
  Library library = Library::openOrCreate(folder);
  describeGym(library, caveGym());
  for (int i = 0; i < 12; ++i) addHold(library, library.nextFreeId(), "B1");
  if (!with_crate) return library;
  startClimb(library, wanted("ours"));
  addHolds(library, "C-0001", {"H-0002"});
  return library;
}

}  // namespace

TEST_CASE("mergeInto: a renamed lot keeps its pieces, its crate what was taken out of it") {
  bool crates_clash = false;
  SUBCASE("whose id is free") {}
  SUBCASE("whose id is taken, too") { crates_clash = true; }
  TempFolder folder;
  Library ours = gymWithIds(folder / "ours", crates_clash);
  const Library theirs = gymWithLot(folder / "theirs");
  const std::string our_hold = ours.hold("H-0001").SerializeAsString();

  const MergeReport report = mergeInto(ours, mergeSourceOf(theirs), false, {});
  std::map<std::string, std::string> here = {{"C-0001", "C-0001"}};
  for (const RenamedHold& renamed : report.renamed()) here[renamed.from()] = renamed.to();
  CHECK(report.renamed_size() == (crates_clash ? 6 : 5));
  CHECK(here["H-0001"] == "H-0013");
  CHECK(here["C-0001"] == (crates_clash ? "C-0002" : "C-0001"));
  REQUIRE(report.left_out_size() == 1);
  CHECK(report.left_out(0).find("\"gym\"") != std::string::npos);

  CHECK(ours.hold(here["H-0004"]).split_from() == here["H-0001"]);
  CHECK(ours.hold(here["H-0005"]).split_from() == here["H-0001"]);
  CHECK(ours.hold(here["H-0004"]).crate() == here["C-0001"]);
  const Climb crate = climbOf(ours, here["C-0001"]);
  CHECK(crate.id() == here["C-0001"]);
  CHECK(crate.name() == "theirs");
  CHECK(heldBy(crate, here["H-0005"]) == nullptr);
  CHECK(heldBy(crate, here["H-0002"]) == nullptr);
  CHECK(heldBy(crate, here["H-0003"]) != nullptr);
  REQUIRE(heldBy(crate, here["H-0004"]) != nullptr);
  CHECK(heldBy(crate, here["H-0004"])->pieces() == 2);
  REQUIRE(crate.notes_size() == (crates_clash ? 1 : 0));
  if (crates_clash) CHECK(crate.notes(0).text() == "In theirs this was C-0001.");

  stripClimb(ours, crate.id(), "shelf");
  CHECK(ours.hold("H-0001").SerializeAsString() == our_hold);
  CHECK(ours.hold(here["H-0001"]).count() == 9);
  CHECK(ours.hold(here["H-0004"]).status() == RETIRED);
  CHECK(joinLot(ours, here["H-0005"]).count() == 10);
  CHECK(ours.hold("H-0001").SerializeAsString() == our_hold);
  if (crates_clash) CHECK(heldBy(climbOf(ours, "C-0001"), "H-0002") != nullptr);
  CHECK(mergeInto(ours, mergeSourceOf(theirs), false, {}).events_added() == 0);
  CHECK(checkLibrary(folder / "ours", false, {}).faults().empty());
}

TEST_CASE("mergeInto: what is done later in a crate that is called otherwise here comes to it") {
  TempFolder folder;
  Library ours = gymWithIds(folder / "ours", true);
  Library theirs = gymWithLot(folder / "theirs");
  mergeInto(ours, mergeSourceOf(theirs), false, {});
  noteClimb(theirs, "C-0001", "", "warm up");
  startClimb(theirs, wanted("another"));
  const MergeReport report = mergeInto(ours, mergeSourceOf(theirs), false, {});
  CHECK(report.events_added() == 3);  // With the note of the renamed one.
  REQUIRE(report.renamed_size() == 1);
  CHECK(report.renamed(0).to() == "C-0003");  // C-0002 is what C-0001 became.
  CHECK(climbOf(ours, "C-0002").notes().rbegin()->text() == "warm up");
  CHECK(climbOf(ours, "C-0003").name() == "another");
  // And back: it is theirs, under their id.
  mergeInto(theirs, mergeSourceOf(ours), false, {});
  CHECK(climbOf(theirs, "C-0001").name() == "theirs");
  CHECK(listClimbs(theirs, true).climbs_size() == 3);
  for (const char* name : {"ours", "theirs"})
    CHECK(checkLibrary(folder / name, false, {}).faults().empty());
}

TEST_CASE("mergeInto: a lost file of the source stops all of it") {
  TempFolder folder;
  Library ours = Library::openOrCreate(folder / "ours");
  Library theirs = Library::openOrCreate(folder / "theirs");
  theirs.commit({created("H-0001", "a"), scanned(theirs, "H-0001", "mesh")});
  std::filesystem::remove(BlobStore(theirs.folder() / "blobs").file(sha256Hex("mesh")));
  CHECK_THROWS_AS(mergeInto(ours, mergeSourceOf(theirs), false, {}), BadInput);
  CHECK(ours.lastEvent() == 0);
}

TEST_CASE("copyLibrary: whole, refused where something is, sound") {
  TempFolder folder;
  Library ours = Library::openOrCreate(folder / "ours");
  ours.commit({created("H-0001", "a"), scanned(ours, "H-0001", "mesh")});
  copyLibrary(ours, folder / "there" / "copy", {});
  CHECK_THROWS_AS(copyLibrary(ours, folder / "there" / "copy", {}), BadInput);
  CHECK(checkLibrary(folder / "there" / "copy", false, {}).faults().empty());
  CHECK(Library::open(folder / "there" / "copy").hold("H-0001").name() == "a");
}

TEST_CASE("copyLibrary: what is stored while the files are copied is none of the copy's") {
  TempFolder folder;
  Library ours = Library::openOrCreate(folder / "ours");
  ours.commit({created("H-0001", "a"), scanned(ours, "H-0001", "mesh")});
  const std::string alone = ours.blobs().put("nothing refers to it");
  Library somebody = Library::open(folder / "ours");
  int heard = 0;
  copyLibrary(ours, folder / "copy", [&](const std::string&, double) {
    // Two: one alone could be a commit that was cut off.
    if (heard++ == 0)
      for (const char* text : {"one", "two"}) somebody.commit({noted("H-0001", text)});
    return true;
  });
  REQUIRE(heard > 1);
  CHECK(ours.lastEvent() == 4);
  const Library copy = Library::open(folder / "copy");
  CHECK(copy.lastEvent() == 2);
  CHECK(copy.blobs().has(alone));
  const CheckReport report = checkLibrary(folder / "copy", false, {});
  CHECK(report.faults().empty());
  CHECK(report.unreferenced_blobs() == 1);
}

TEST_CASE("exportLibrary, importFolder: the same holds with the same history") {
  TempFolder folder;
  Library ours = Library::openOrCreate(folder / "ours");
  ours.commit({created("H-0001", "ledge, \"big\""), scanned(ours, "H-0001", "mesh"),
               moved("H-0001", WALL, "2099-02-01T00:00:00.000Z")});
  exportLibrary(ours, folder / "out", {});
  CHECK(readFile(folder / "out" / "meshes" / "H-0001.ply") == "mesh");
  Library back = Library::openOrCreate(folder / "back");
  CHECK(importFolder(back, folder / "out", false, {}).events_added() == 3);
  CHECK(importFolder(back, folder / "out", false, {}).events_added() == 0);
  CHECK(back.hold("H-0001").SerializeAsString() == ours.hold("H-0001").SerializeAsString());
  CHECK(back.history("H-0001").size() == 3);
  CHECK_THROWS_AS(importFolder(back, folder.path(), false, {}), BadInput);
}

TEST_CASE("importFolder: events that name no file as files are named are refused in a sentence") {
  TempFolder folder;
  Library ours = Library::openOrCreate(folder / "ours");
  ours.commit({created("H-0001", "ledge"), scanned(ours, "H-0001", "mesh")});
  exportLibrary(ours, folder / "out", {});
  const std::string events = readFile(folder / "out" / "events.json"), mesh = sha256Hex("mesh");
  const std::size_t at = events.find(mesh);
  REQUIRE(at != std::string::npos);
  for (const char* name : {"a", "../../secret"}) {
    writeFileDurably(folder / "out" / "events.json",
                     std::string(events).replace(at, mesh.size(), name));
    Library back = Library::openOrCreate(folder / "back");
    CHECK_THROWS_WITH_AS(importFolder(back, folder / "out", false, {}),
                         doctest::Contains("64 hex digits"), BadInput);
    CHECK(back.size() == 0);
  }
}

TEST_CASE("importFolder: what a newer program exported is refused, not taken without what is new") {
  TempFolder folder;
  Library ours = Library::openOrCreate(folder / "ours");
  ours.commit({created("H-0001", "ledge"), moved("H-0001", WASH, "2099-02-01T00:00:00.000Z")});
  exportLibrary(ours, folder / "out", {});
  const std::string events = readFile(folder / "out" / "events.json");
  std::string old, now;
  SUBCASE("a kind of event") { old = "\"moved\"", now = "\"flown\""; }
  SUBCASE("a status") { old = "\"WASH\"", now = "\"MOON\""; }
  const std::size_t at = events.find(old);
  REQUIRE(at != std::string::npos);
  writeFileDurably(folder / "out" / "events.json",
                   std::string(events).replace(at, old.size(), now));
  Library back = Library::openOrCreate(folder / "back");
  CHECK_THROWS_WITH_AS(importFolder(back, folder / "out", false, {}),
                       doctest::Contains("a newer one exported it"), BadInput);
  CHECK(back.lastEvent() == 0);
  CHECK(back.blobs().names().empty());
}

TEST_CASE("splitLot: a few of a lot get a record of their own; never all, never none") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  Event made = created("H-0001", "chip");
  made.mutable_created()->set_count(10);
  library.commit({made, scanned(library, "H-0001", "mesh")});
  const Hold part = splitLot(library, "H-0001", 3);
  CHECK(part.count() == 3);
  CHECK(part.split_from() == "H-0001");
  CHECK(part.scans_size() == 1);
  CHECK(library.hold("H-0001").count() == 7);
  CHECK_THROWS_AS(splitLot(library, "H-0001", 7), BadInput);
  CHECK_THROWS_AS(splitLot(library, part.id(), 0), BadInput);
}
