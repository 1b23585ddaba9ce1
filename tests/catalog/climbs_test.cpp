// SPDX-License-Identifier: Apache-2.0
#include "catalog/climbs.h"

#include <doctest/doctest.h>

#include <map>
#include <random>
#include <set>
#include <thread>

#include "catalog/climb_pick.h"
#include "catalog/climb_record.h"
#include "catalog/gym.h"
#include "catalog/library_check.h"
#include "catalog/library_lot.h"
#include "catalog/pick_pdf.h"
#include "mesh/bad_input.h"
#include "tests/catalog/run_program.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

Gym testGym() {
  Gym gym;
  WallPanel& p = panelToEdit(zoneToEdit(gym, "cave"), "roof");
  p.set_wall_angle_deg(35);
  p.mutable_fixing()->set_thread(M10);
  p.mutable_fixing()->set_panel_mm(18);
  p.mutable_fixing()->set_barrel_mm(11);
  p.mutable_fixing()->set_flange_mm(1.5);
  p.set_columns(10);
  p.set_rows(8);
  p.set_pitch_mm(200);
  WallFeature& top = *p.add_features();
  top.set_name("lip of the cave");
  top.set_kind(WallFeature::TOP_EDGE);
  top.set_at_mm(1600);
  return gym;
}

void addHold(Library& library, const std::string& id, const std::string& bin, double seat_mm = 22) {
  Event created;
  created.set_hold(id);
  created.mutable_created()->set_name("hold " + id);
  created.mutable_created()->set_bin(bin);
  created.mutable_created()->set_status(SHELF);
  Event scanned;
  scanned.set_hold(id);
  scanned.mutable_scanned()->set_id("s" + id);
  BoltSeat& seat = *scanned.mutable_scanned()->mutable_shape()->add_bolt_seats();
  seat.set_kind(BoltSeat::FLAT);
  seat.mutable_seat_height_mm()->set_value(seat_mm);
  library.commit({created, scanned});
}

Climb wanted(const std::string& name) {
  Climb climb;
  climb.set_name(name);
  climb.set_zone("cave");
  climb.set_setter("Maren");
  return climb;
}

Placement at(int column, int row, double rotation_deg = 0) {
  Placement p;
  p.set_column(column);
  p.set_row(row);
  p.set_rotation_deg(rotation_deg);
  return p;
}

/// The sentence of a refused operation; empty when it was not refused.
template <typename Run>
std::string refusal(Run run) {
  try {
    run();
  } catch (const BadInput& refused) {
    return refused.what();
  }
  return "";
}

}  // namespace

TEST_CASE("climbs: from the crate to the wall and down again") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  describeGym(library, testGym());
  for (const char* id : {"H-0001", "H-0002", "H-0003"})
    addHold(library, id, std::string(id) == "H-0002" ? "A10" : "A2");
  CHECK(startClimb(library, wanted("yellow 12")).id() == "C-0001");
  CHECK(startClimb(library, wanted("blue 3")).id() == "C-0002");
  addHolds(library, "C-0001", {"H-0001", "H-0002"});
  CHECK(library.hold("H-0001").status() == CRATE);

  // What one crate holds another can't have; the sentence says who has it.
  const std::string taken = refusal([&] { addHolds(library, "C-0002", {"H-0003", "H-0001"}); });
  CHECK(isOneSentence(taken + "\n"));
  CHECK(taken.find("C-0001 (yellow 12, Maren)") != std::string::npos);
  CHECK(library.hold("H-0003").status() == SHELF);  // All or none.
  CHECK(refusal([&] { addHolds(library, "C-0001", {"H-0003", "H-0003"}); }) != "");

  const PickList list = pickList(library, "C-0001");
  REQUIRE(list.bins_size() == 2);
  CHECK(list.bins(0).bin() == "A2");  // As one walks, not as letters sort.
  CHECK(list.bins(1).bin() == "A10");
  CHECK(list.bins(0).lines(0).bolt() == "M10 × 40");  // 22 + 18 = 40, as the bolt model has it.
  CHECK(list.bolts().bag(0).count() == 2);

  CHECK(refusal([&] { placeHold(library, "C-0001", "H-0001", at(11, 1)); }) != "");
  CHECK(refusal([&] { placeHold(library, "C-0001", "H-0003", at(1, 1)); }) != "");
  CHECK(refusal([&] { placeHold(library, "C-0001", "H-0001", {}); }) != "");
  placeHold(library, "C-0001", "H-0001", at(4, 7, 30));
  CHECK(library.hold("H-0001").status() == WALL);
  CHECK(library.hold("H-0001").climb() == "C-0001");
  CHECK(library.hold("H-0001").rotation_deg() == 30);
  CHECK(library.hold("H-0001").wall_angle_deg() == 35);
  CHECK(refusal([&] { placeHold(library, "C-0001", "H-0002", at(4, 7)); }).find("H-0001") !=
        std::string::npos);
  CHECK(refusal([&] { openClimb(library, "C-0001"); }).find("H-0002") != std::string::npos);
  noteClimb(library, "C-0001", "H-0001", "turns under the left hand");
  CHECK(refusal([&] { dismissCheck(library, "C-0001", "bolt", "H-0001", " "); }) != "");
  dismissCheck(library, "C-0001", "bolt", "H-0001", "goes in tomorrow");
  recordBolt(library, "C-0001", "H-0001", "M10 × 40");
  // What is not open is not set aside.
  CHECK(isOneSentence(refusal([&] { dismissCheck(library, "C-0001", "bolt", "H-0001", "again"); }) +
                      "\n"));
  // Swapped: the place is handed on, the hold goes back, the dismissal no longer counts.
  Climb climb = swapHold(library, "C-0001", "H-0001", "H-0003", 45);
  CHECK(library.hold("H-0001").status() == SHELF);
  CHECK(library.hold("H-0003").status() == WALL);
  REQUIRE(heldBy(climb, "H-0003") != nullptr);
  CHECK(heldBy(climb, "H-0003")->placement().row() == 7);
  CHECK(heldBy(climb, "H-0003")->bolt().empty());
  CHECK(climb.dismissals(0).outdated());
  CHECK(climb.dismissals(0).reason() == "goes in tomorrow");
  CHECK(climb.dismissals(0).found().find("M10 × 40 is advised") != std::string::npos);
  // The note keeps where the hold was when it was written.
  CHECK(climb.notes(0).placement().row() == 7);
  CHECK(climb.notes(0).placement().rotation_deg() == 30);
  CHECK(climb.notes(0).placement().panel() == "roof");
  CHECK(climbText(climb).find("column 4, row 7 of roof, turned 30°") != std::string::npos);
  placeHold(library, "C-0001", "H-0002", at(1, 1));
  openClimb(library, "C-0001");

  const StripList stripped = stripClimb(library, "C-0001", "wash");
  CHECK(stripped.bins_size() == 2);
  CHECK(library.hold("H-0003").status() == WASH);
  climb = climbOf(library, "C-0001");
  CHECK(climb.state() == Climb::STRIPPED);
  CHECK(climb.holds_size() == 3);  // The record stays.
  CHECK(climb.notes(0).text() == "turns under the left hand");
  CHECK(refusal([&] { addHolds(library, "C-0001", {"H-0001"}); }) != "");
  CHECK(listClimbs(library, false).climbs_size() == 1);
  CHECK(listClimbs(library, true).climbs_size() == 2);
  CHECK(climbHistory(library, "C-0001").events_size() == 11);
  CHECK(checkLibrary(folder / "l", false, {}).faults().empty());
}

TEST_CASE("climbs: panels fixed differently: advice before placement, the bolt after a move") {
  TempFolder folder;
  const std::string path = (folder / "l").string();
  Library library = Library::openOrCreate(path);
  Gym gym = testGym();
  WallPanel& wall = panelToEdit(zoneToEdit(gym, "cave"), "wall");
  wall = gym.zones(0).panels(0);
  wall.set_name("wall");
  wall.set_columns(5);
  wall.mutable_fixing()->set_panel_mm(24);
  WallPanel& twin = panelToEdit(zoneToEdit(gym, "cave"), "twin");
  twin = gym.zones(0).panels(0);
  twin.set_name("twin");
  twin.set_columns(4);
  describeGym(library, gym);
  addHold(library, "H-0001", "A1");  // Seat 22: 40 on the roof, 22 + 24 = 46, so 50 on the wall.
  startClimb(library, wanted("yellow 12"));
  addHolds(library, "C-0001", {"H-0001"});
  const PickList list = pickList(library, "C-0001");
  CHECK(list.bins(0).lines(0).bolt() == "M10 × 40 on roof, M10 × 50 on wall");
  CHECK(list.bins(0).lines(0).bolt_depends_on_panel());
  REQUIRE(list.bolts().bolts(0).warnings_size() == 1);
  CHECK(list.bolts().bolts(0).warnings(0).find("on wall M10 × 50") != std::string::npos);
  CHECK(pickText(list).find("! H-0001: Not placed yet") != std::string::npos);
  CHECK(pickPdf(list, "A4") != pickPdf(PickList(), "A4"));

  const auto on = [](const std::string& panel) {
    Placement p = at(1, 1);
    p.set_panel(panel);
    return p;
  };
  // Written down in the crate, it was for no other panel: it stays, and is judged where it hangs.
  recordBolt(library, "C-0001", "H-0001", "M10 × 40");
  Climb climb = placeHold(library, "C-0001", "H-0001", on("roof"));
  CHECK(heldBy(climb, "H-0001")->bolt() == "M10 × 40");
  CHECK(heldBy(climb, "H-0001")->former_bolt().empty());
  climb = placeHold(library, "C-0001", "H-0001", on("twin"));  // Fixed alike: kept.
  CHECK(heldBy(climb, "H-0001")->bolt() == "M10 × 40");
  climb = placeHold(library, "C-0001", "H-0001", on("wall"));
  CHECK(heldBy(climb, "H-0001")->bolt().empty());
  CHECK(heldBy(climb, "H-0001")->former_bolt() == "M10 × 40");
  CHECK(climbText(climb).find("M10 × 40 was for another panel") != std::string::npos);
  CHECK(climbChangeText(climbHistory(library, "C-0001").events().rbegin()->climb())
            .find("M10 × 40 no longer counts") != std::string::npos);
  CHECK(pickList(library, "C-0001").bins(0).lines(0).bolt() == "M10 × 50");
  CHECK_FALSE(pickList(library, "C-0001").bins(0).lines(0).bolt_depends_on_panel());
  climb = recordBolt(library, "C-0001", "H-0001", "M10 × 50");
  CHECK(heldBy(climb, "H-0001")->former_bolt().empty());

  // The options of crate bolts count for crate pick as well.
  const auto pick = [&](const std::vector<std::string>& more) {
    std::vector<std::string> words = {"crate", "pick", "C-0001", "-l", path};
    words.insert(words.end(), more.begin(), more.end());
    return runProgram(words).out;
  };
  CHECK(pick({"--bolts", "3/8-16"}).find("never mix") != std::string::npos);
  // 22 + 6.2 + 24 = 52.2.
  CHECK(pick({"--head", "countersunk"}).find("M10 × 55 countersunk") != std::string::npos);
}

TEST_CASE("climbs: a hold without a scan is placed, shown and not judged") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  describeGym(library, testGym());
  Event created;
  created.set_hold("H-0001");
  created.mutable_created()->set_name("unseen");
  created.mutable_created()->set_status(SHELF);
  library.commit({created});
  startClimb(library, wanted("yellow 12"));
  addHolds(library, "C-0001", {"H-0001"});
  placeHold(library, "C-0001", "H-0001", at(1, 1));
  const ClimbView view = viewClimb(library, "C-0001");
  REQUIRE(view.verdicts_size() == 1);
  CHECK(view.verdicts(0).sentence().find("not judged") != std::string::npos);
  const auto run = runProgram({"climb", "show", "C-0001", "-l", (folder / "l").string()});
  CHECK(run.status == 0);
  CHECK(run.out.find("H-0001: No scan: not judged") != std::string::npos);
}

TEST_CASE("climbs: a hold that went elsewhere is not stripped with the climb") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  describeGym(library, testGym());
  addHold(library, "H-0001", "A1");
  addHold(library, "H-0002", "A1");
  startClimb(library, wanted("yellow 12"));
  addHolds(library, "C-0001", {"H-0001", "H-0002"});
  Event retired;
  retired.set_hold("H-0001");
  retired.mutable_moved()->set_status(RETIRED);
  library.commit({retired});
  CHECK(refusal([&] { placeHold(library, "C-0001", "H-0001", at(1, 1)); }).find("retired") !=
        std::string::npos);
  const StripList list = stripClimb(library, "C-0001", "shelf");
  CHECK(list.not_here_size() == 1);
  CHECK(library.hold("H-0001").status() == RETIRED);
  CHECK(library.hold("H-0002").status() == SHELF);
}

TEST_CASE("climbs: two people want one hold at the same moment") {
  TempFolder folder;
  const std::string path = (folder / "l").string();
  {
    Library library = Library::openOrCreate(path);
    describeGym(library, testGym());
    startClimb(library, wanted("yellow 12"));
    startClimb(library, wanted("blue 3"));
    for (int i = 1; i <= 6; ++i) addHold(library, "H-000" + std::to_string(i), "A1");
  }
  for (int i = 1; i <= 6; ++i) {
    const std::string hold = "H-000" + std::to_string(i);
    ProgramRun first, second;  // Two processes on one library.
    std::thread one([&] { first = runProgram({"crate", "add", "C-0001", hold, "-l", path}); });
    std::thread two([&] { second = runProgram({"crate", "add", "C-0002", hold, "-l", path}); });
    one.join();
    two.join();
    CAPTURE(first.err);
    CAPTURE(second.err);
    CHECK((first.status == 0) != (second.status == 0));
    const ProgramRun& loser = first.status == 0 ? second : first;
    CHECK(loser.status == 1);
    CHECK(isOneSentence(loser.err));
    CHECK(loser.err.find(first.status == 0 ? "C-0001" : "C-0002") != std::string::npos);
    const Library library = Library::open(path);
    CHECK(library.hold(hold).crate() == (first.status == 0 ? "C-0001" : "C-0002"));
    CHECK((heldBy(climbOf(library, "C-0001"), hold) != nullptr) == (first.status == 0));
    CHECK((heldBy(climbOf(library, "C-0002"), hold) != nullptr) == (second.status == 0));
  }
  CHECK(checkLibrary(path, false, {}).faults().empty());
}

namespace {

Library withLots(const TempFolder& folder) {
  Library library = Library::openOrCreate(folder / "l");
  describeGym(library, testGym());
  addHold(library, "H-0001", "A1", 12);
  addHold(library, "H-0002", "A1");
  Event count;
  count.set_hold("H-0001");
  count.mutable_edited()->add_fields("count");
  count.mutable_edited()->set_count(10);
  library.commit({count});
  startClimb(library, wanted("yellow 12"));
  startClimb(library, wanted("blue 3"));
  return library;
}

}  // namespace

TEST_CASE("climbs: a lot is shared out over crates and T-nuts, and joined again") {
  TempFolder folder;
  Library library = withLots(folder);
  Climb climb = addPieces(library, "C-0001", {"H-0001"}, 3);
  CHECK(library.hold("H-0001").status() == SHELF);
  CHECK(library.hold("H-0001").count() == 7);
  REQUIRE(climb.holds_size() == 1);
  CHECK(climb.holds(0).hold() == "H-0003");
  CHECK(climb.holds(0).pieces() == 3);
  CHECK(library.hold("H-0003").crate() == "C-0001");
  CHECK(library.hold("H-0003").split_from() == "H-0001");
  CHECK(addPieces(library, "C-0002", {"H-0001"}, 6).holds(0).hold() == "H-0004");
  const std::string few = refusal([&] { addPieces(library, "C-0002", {"H-0001"}, 2); });
  CHECK(few.find("has 1 piece on the shelf now, 2 are wanted") != std::string::npos);
  CHECK(library.hold("H-0001").count() == 1);

  // Each piece has a bolt of its own; seat 12 in 18 mm: 30, as the bolt model has it.
  PickList list = pickList(library, "C-0001");
  REQUIRE(list.bins_size() == 1);
  CHECK(list.bins(0).lines(0).count() == 3);
  CHECK(list.bins(0).lines(0).bolt() == "3 × M10 × 30");
  CHECK(list.bolts().bag(0).count() == 3);

  // Mounted one by one; the others stay in the crate.
  CHECK(placePiece(library, "C-0001", "H-0003", at(1, 1)) == "H-0005");
  CHECK(placePiece(library, "C-0001", "H-0003", at(2, 1, 90)) == "H-0006");
  CHECK(refusal([&] { placeHold(library, "C-0001", "H-0003", at(2, 1)); }).find("H-0006") !=
        std::string::npos);
  climb = climbOf(library, "C-0001");
  CHECK(climb.holds(0).pieces() == 1);
  CHECK(heldBy(climb, "H-0006")->placement().rotation_deg() == 90);
  CHECK(library.hold("H-0005").status() == WALL);
  CHECK(library.hold("H-0005").split_from() == "H-0001");  // The lot, not the crate's part of it.
  CHECK(library.hold("H-0003").status() == CRATE);

  // Dropped unused, they are the lot's again; what hung is not, until a person says so.
  dropHolds(library, "C-0001", {"H-0003", "H-0005"});
  CHECK(library.hold("H-0001").count() == 2);
  CHECK(library.hold("H-0003").status() == RETIRED);
  CHECK(library.hold("H-0005").status() == SHELF);
  CHECK(joinLot(library, "H-0005").count() == 3);
  CHECK_THROWS_AS((void)joinLot(library, "H-0005"), BadInput);
  CHECK_THROWS_AS((void)joinLot(library, "H-0002"), BadInput);
  CHECK_THROWS_AS((void)joinLot(library, "H-0006"), BadInput);  // On the wall.

  // For one hold one piece comes, for a lot's part as many.
  addHolds(library, "C-0001", {"H-0002"});
  climb = swapHold(library, "C-0001", "H-0002", "H-0001", 0);
  CHECK(climb.holds().rbegin()->hold() == "H-0007");
  CHECK(climb.holds().rbegin()->pieces() == 0);
  CHECK(library.hold("H-0001").count() == 2);
  const StripList stripped = stripClimb(library, "C-0002", "shelf");
  CHECK(stripped.climb().state() == Climb::STRIPPED);
  CHECK(library.hold("H-0001").count() == 8);
  CHECK(library.hold("H-0004").status() == RETIRED);
  CHECK(checkLibrary(folder / "l", false, {}).faults().empty());
}

TEST_CASE("climbs: two people take pieces of one lot at the same moment") {
  TempFolder folder;
  { (void)withLots(folder); }
  const std::string path = (folder / "l").string();
  ProgramRun first, second;  // 10 pieces: 6 for whoever is first, and not 6 more.
  std::thread one([&] {
    first = runProgram({"crate", "add", "C-0001", "H-0001", "--pieces", "6", "-l", path});
  });
  std::thread two([&] {
    second = runProgram({"crate", "add", "C-0002", "H-0001", "--pieces", "6", "-l", path});
  });
  one.join();
  two.join();
  CHECK((first.status == 0) != (second.status == 0));
  const ProgramRun& loser = first.status == 0 ? second : first;
  CHECK(isOneSentence(loser.err));
  CHECK(loser.err.find("has 4 pieces on the shelf now, 6 are wanted") != std::string::npos);
  CHECK(Library::open(path).hold("H-0001").count() == 4);

  // 2 and 2 of the 4 that are left: both get theirs, under ids of their own.
  std::thread three([&] {
    first = runProgram({"crate", "add", "C-0001", "H-0001", "--pieces", "2", "-l", path});
  });
  std::thread four([&] {
    second = runProgram({"crate", "add", "C-0002", "H-0001", "--pieces", "2", "-l", path});
  });
  three.join();
  four.join();
  CAPTURE(first.err);
  CAPTURE(second.err);
  CHECK(first.status == 0);
  CHECK(second.status == 0);
  CHECK(checkLibrary(path, false, {}).faults().empty());
}

namespace {

/// The library as one would keep it without a disk: where each record is, and of how many pieces.
class Model {
 public:
  enum class Where { Shelf, Crate, Wall, Wash, Joined };
  struct Record {
    Where where = Where::Shelf;
    int climb = 0, pieces = 1;
    std::string lot;  // That it was taken out of.
    bool used = false;
    int column = 0;
  };

  static std::string holdId(std::size_t n) {
    char id[32];
    std::snprintf(id, sizeof id, "H-%04zu", n);
    return id;
  }
  std::string add(const Record& record) {
    const std::string id = holdId(holds.size() + 1);
    holds[id] = record;
    return id;
  }
  bool here(const Record& r, int climb) const {
    return (r.where == Where::Crate || r.where == Where::Wall) && r.climb == climb &&
           stripped.count(climb) == 0;
  }
  bool freeColumn(int climb, int column, const std::string& but) const {
    for (const auto& [id, r] : holds)
      if (id != but && here(r, climb) && r.where == Where::Wall && r.column == column) return false;
    return true;
  }
  /// As many pieces of a lot as said: all of it, or a record of their own.
  std::string take(const std::string& lot, int pieces) {
    Record& from = holds[lot];
    if (pieces == from.pieces) return lot;
    from.pieces -= pieces;
    Record part = from;
    part.pieces = pieces;
    part.lot = from.lot.empty() ? lot : from.lot;
    part.used = false;
    return add(part);
  }
  void back(const std::string& id) {
    Record& r = holds[id];
    const auto lot = holds.find(r.lot);
    if (!r.used && lot != holds.end() && lot->second.where == Where::Shelf) {
      lot->second.pieces += r.pieces;
      r = {Where::Joined, 0, r.pieces, r.lot, r.used, 0};
    } else {
      r = {Where::Shelf, 0, r.pieces, r.lot, r.used, 0};
    }
  }
  int pieces() const {
    int sum = 0;
    for (const auto& [id, r] : holds)
      if (r.where != Where::Joined) sum += r.pieces;
    return sum;
  }

  std::map<std::string, Record> holds;
  std::set<int> stripped;
};

std::string climbId(int n) { return "C-000" + std::to_string(n); }

void compare(const Library& library, const Model& model, int climbs) {
  using Where = Model::Where;
  CHECK(library.size() == static_cast<std::int64_t>(model.holds.size()));
  for (const auto& [id, r] : model.holds) {
    CAPTURE(id);
    const Hold hold = library.hold(id);
    CHECK(hold.status() == (r.where == Where::Shelf   ? SHELF
                            : r.where == Where::Crate ? CRATE
                            : r.where == Where::Wall  ? WALL
                            : r.where == Where::Wash  ? WASH
                                                      : RETIRED));
    CHECK(std::max(1, hold.count()) == r.pieces);
    CHECK(hold.split_from() == r.lot);
    CHECK(hold.crate() == (r.where == Where::Crate ? climbId(r.climb) : ""));
    CHECK(hold.climb() == (r.where == Where::Wall ? climbId(r.climb) : ""));
    for (int climb = 1; climb <= climbs; ++climb) {
      if (model.stripped.count(climb) != 0) continue;
      const Climb now = climbOf(library, climbId(climb));
      const ClimbHold* held = heldBy(now, id);
      CHECK((held != nullptr) == model.here(r, climb));
      if (held == nullptr) continue;
      CHECK(std::max(1, held->pieces()) == r.pieces);
      CHECK(held->placement().column() == r.column);
    }
  }
}

}  // namespace

TEST_CASE("climbs: the library against a model in memory, random work, reopened on the way") {
  using Where = Model::Where;
  TempFolder folder;
  const std::string path = (folder / "l").string();
  constexpr int kHolds = 8, kClimbs = 6;
  Model model;
  std::mt19937 random(7);
  const auto pick = [&](int n) { return static_cast<int>(random() % static_cast<unsigned>(n)); };
  {
    Library library = Library::openOrCreate(path);
    describeGym(library, testGym());
    for (int i = 1; i <= kHolds; ++i) {
      const std::string id = model.add({});
      addHold(library, id, "A1");
      if (i > 2) continue;  // Two counted lots.
      model.holds[id].pieces = 6 * i;
      Event count;
      count.set_hold(id);
      count.mutable_edited()->add_fields("count");
      count.mutable_edited()->set_count(6 * i);
      library.commit({count});
    }
    for (int i = 1; i <= kClimbs; ++i) startClimb(library, wanted("climb"));
  }
  const int pieces = model.pieces();
  std::map<int, int> done;
  int refused = 0;
  for (int round = 0; round < 10; ++round) {
    Library library = Library::open(path);
    for (int step = 0; step < 50; ++step) {
      const int all = static_cast<int>(model.holds.size());
      // Lots, and what was taken out of them, more often than single holds.
      std::string hold = Model::holdId(
          static_cast<std::size_t>(pick(3) == 0 ? 1 + pick(2) : all - pick(std::min(all, 12))));
      const std::string other = Model::holdId(static_cast<std::size_t>(1 + pick(all)));
      int climb = 1 + pick(kClimbs);
      const int column = 1 + pick(8), count = 1 + pick(4);
      if (model.holds[hold].climb > 0 && pick(2) == 0) climb = model.holds[hold].climb;
      const int wished = pick(70) == 0 ? 7 : pick(7);
      if (wished == 5 && pick(2) == 0)  // Joins are rarely possible: look for one.
        for (const auto& [id, r] : model.holds)
          if (r.where == Where::Shelf && !r.lot.empty()) hold = id;
      Model::Record& m = model.holds[hold];
      const bool live = model.stripped.count(climb) == 0;
      const bool here = model.here(m, climb);
      bool allowed = false;
      std::string said;
      int what = wished;
      if (what == 0 && m.pieces > 1 && pick(4) > 0) what = 1;  // Lots are mostly shared out.
      switch (what) {
        case 0:
          allowed = live && m.where == Where::Shelf;
          said = refusal([&] { addHolds(library, climbId(climb), {hold}); });
          if (allowed) m.where = Where::Crate, m.climb = climb;
          break;
        case 1:
          allowed = live && m.where == Where::Shelf && count <= m.pieces;
          said = refusal([&] { addPieces(library, climbId(climb), {hold}, count); });
          if (allowed) {
            Model::Record& part = model.holds[model.take(hold, count)];
            part.where = Where::Crate;
            part.climb = climb;
          }
          break;
        case 2:
          allowed = here;
          said = refusal([&] { dropHolds(library, climbId(climb), {hold}); });
          if (allowed) model.back(hold);
          break;
        case 3: {
          const bool one_of_many = m.pieces > 1 && m.where == Where::Crate;
          allowed = here && model.freeColumn(climb, column, one_of_many ? "" : hold);
          std::string piece;
          said = refusal([&] { piece = placePiece(library, climbId(climb), hold, at(column, 1)); });
          if (!allowed) break;
          const std::string expected = one_of_many ? model.take(hold, 1) : hold;
          CHECK(piece == expected);
          Model::Record& placed = model.holds[expected];
          placed.where = Where::Wall;
          placed.used = true;
          placed.column = column;
          break;
        }
        case 4: {
          const Model::Record old = m;
          allowed = here && model.holds[other].where == Where::Shelf && m.lot != other;
          said = refusal([&] { swapHold(library, climbId(climb), hold, other, 0); });
          if (!allowed) break;
          const std::string in = model.take(other, std::min(old.pieces, model.holds[other].pieces));
          model.back(hold);
          Model::Record& r = model.holds[in];
          r.where = old.where;
          r.climb = climb;
          r.column = old.column;
          r.used = r.used || old.where == Where::Wall;
          break;
        }
        case 5:
          allowed =
              m.where == Where::Shelf && !m.lot.empty() && model.holds[m.lot].where == Where::Shelf;
          said = refusal([&] { (void)joinLot(library, hold); });
          if (allowed) model.holds[m.lot].pieces += m.pieces, m.where = Where::Joined;
          break;
        case 6: {  // Washed holds come back.
          if (m.where != Where::Wash) continue;
          allowed = true;
          Event back;
          back.set_hold(hold);
          back.mutable_moved()->set_status(SHELF);
          library.commit({back});
          m.where = Where::Shelf;
          break;
        }
        default: {
          allowed = live;
          const std::string to = pick(2) == 0 ? "wash" : "shelf";
          said = refusal([&] { stripClimb(library, climbId(climb), to); });
          if (!allowed) break;
          // All pieces that join a lot do so after the others went to the shelf: a lot that is in
          // the climb itself is not there to be joined.
          std::vector<std::string> gone;
          for (const auto& [id, r] : model.holds)
            if (model.here(r, climb)) gone.push_back(id);
          std::vector<std::string> joining;
          for (const std::string& id : gone) {
            const Model::Record& r = model.holds[id];
            if (to == "shelf" && !r.used && !r.lot.empty() &&
                model.holds[r.lot].where == Where::Shelf)
              joining.push_back(id);
          }
          for (const std::string& id : gone) {
            Model::Record& r = model.holds[id];
            if (std::count(joining.begin(), joining.end(), id) > 0)
              model.back(id);
            else
              r = {to == "wash" ? Where::Wash : Where::Shelf,
                   0,
                   r.pieces,
                   r.lot,
                   r.used || to == "wash",
                   0};
          }
          model.stripped.insert(climb);
        }
      }
      CAPTURE(what);
      CAPTURE(hold);
      CAPTURE(said);
      CHECK(said.empty() == allowed);
      if (allowed)
        ++done[what];
      else
        ++refused;
    }
    compare(library, model, kClimbs);
    CHECK(model.pieces() == pieces);  // None is lost, none appears.
  }
  for (int what = 0; what < 8; ++what) {
    CAPTURE(what);
    CHECK(done[what] > 0);
  }
  CHECK(refused > 100);
  CHECK(checkLibrary(path, false, {}).faults().empty());
}
