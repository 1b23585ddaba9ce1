// SPDX-License-Identifier: Apache-2.0
#include "catalog/climbs.h"

#include <doctest/doctest.h>

#include <map>
#include <random>
#include <set>
#include <thread>

#include "catalog/climb_record.h"
#include "catalog/gym.h"
#include "catalog/library_check.h"
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
  recordBolt(library, "C-0001", "H-0001", "M10 × 40");
  noteClimb(library, "C-0001", "H-0001", "turns under the left hand");
  CHECK(refusal([&] { dismissCheck(library, "C-0001", "feet", "H-0001", " "); }) != "");
  dismissCheck(library, "C-0001", "feet", "H-0001", "meant to be a thumb catch");
  // Swapped: the place is handed on, the hold goes back, the dismissal no longer counts.
  Climb climb = swapHold(library, "C-0001", "H-0001", "H-0003", 45);
  CHECK(library.hold("H-0001").status() == SHELF);
  CHECK(library.hold("H-0003").status() == WALL);
  REQUIRE(heldBy(climb, "H-0003") != nullptr);
  CHECK(heldBy(climb, "H-0003")->placement().row() == 7);
  CHECK(heldBy(climb, "H-0003")->bolt().empty());
  CHECK(climb.dismissals(0).outdated());
  CHECK(climb.dismissals(0).reason() == "meant to be a thumb catch");
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

TEST_CASE("climbs: the library against a model in memory, random work, reopened on the way") {
  TempFolder folder;
  const std::string path = (folder / "l").string();
  constexpr int kHolds = 8, kClimbs = 3;
  // What the library should say: where each hold is, and each climb's mounted holds.
  enum class Where { Shelf, Crate, Wall, Wash };
  struct Model {
    Where where = Where::Shelf;
    int climb = 0;
  };
  std::map<std::string, Model> holds;
  std::set<int> stripped;
  std::map<std::pair<int, int>, std::string> tnuts;  // Climb and column.
  std::mt19937 random(7);
  const auto pick = [&](int n) { return static_cast<int>(random() % static_cast<unsigned>(n)); };
  const auto climbId = [](int n) { return "C-000" + std::to_string(n); };
  {
    Library library = Library::openOrCreate(path);
    describeGym(library, testGym());
    for (int i = 1; i <= kHolds; ++i) {
      addHold(library, "H-000" + std::to_string(i), "A1");
      holds["H-000" + std::to_string(i)] = {};
    }
    for (int i = 1; i <= kClimbs; ++i) startClimb(library, wanted("climb"));
  }
  const auto leaveTnut = [&](const std::string& hold) {
    std::erase_if(tnuts, [&](const auto& at_hold) { return at_hold.second == hold; });
  };
  int done = 0, refused = 0;
  for (int round = 0; round < 6; ++round) {
    Library library = Library::open(path);
    for (int step = 0; step < 50; ++step) {
      const std::string hold = "H-000" + std::to_string(1 + pick(kHolds));
      const std::string other = "H-000" + std::to_string(1 + pick(kHolds));
      const int climb = 1 + pick(kClimbs), column = 1 + pick(4);
      Model& m = holds[hold];
      const bool live = stripped.count(climb) == 0;
      const bool here = (m.where == Where::Crate || m.where == Where::Wall) && m.climb == climb;
      bool allowed = false;
      std::string said;
      switch (pick(round == 5 ? 6 : 5)) {
        case 0:
          allowed = live && m.where == Where::Shelf;
          said = refusal([&] { addHolds(library, climbId(climb), {hold}); });
          if (allowed) m = {Where::Crate, climb};
          break;
        case 1:
          allowed = live && here;
          said = refusal([&] { dropHolds(library, climbId(climb), {hold}); });
          if (allowed) m = {}, leaveTnut(hold);
          break;
        case 2: {
          const auto on = tnuts.find({climb, column});
          allowed = live && here && (on == tnuts.end() || on->second == hold);
          said = refusal([&] { placeHold(library, climbId(climb), hold, at(column, 1)); });
          if (allowed) {
            leaveTnut(hold);
            m.where = Where::Wall;
            tnuts[{climb, column}] = hold;
          }
          break;
        }
        case 3: {
          allowed = live && here && holds[other].where == Where::Shelf;
          said = refusal([&] { swapHold(library, climbId(climb), hold, other, 0); });
          if (!allowed) break;
          holds[other] = m;
          m = {};
          for (auto& [place, on] : tnuts)
            if (on == hold) on = other;
          break;
        }
        case 4: {  // Washed holds come back.
          allowed = m.where == Where::Wash || m.where == Where::Shelf;
          if (!allowed) continue;
          Event back;
          back.set_hold(hold);
          back.mutable_moved()->set_status(SHELF);
          library.commit({back});
          m = {};
          break;
        }
        default:
          allowed = live;
          said = refusal([&] { stripClimb(library, climbId(climb), "wash"); });
          if (!allowed) break;
          stripped.insert(climb);
          for (auto& [id, model] : holds)
            if (model.climb == climb && model.where != Where::Shelf) model = {Where::Wash, 0};
          std::erase_if(tnuts, [&](const auto& place) { return place.first.first == climb; });
      }
      CAPTURE(said);
      CHECK(said.empty() == allowed);
      (allowed ? done : refused) += 1;
    }
    for (const auto& [id, model] : holds) {
      const Hold hold = library.hold(id);
      CHECK(hold.status() == (model.where == Where::Shelf   ? SHELF
                              : model.where == Where::Crate ? CRATE
                              : model.where == Where::Wall  ? WALL
                                                            : WASH));
      CHECK(hold.crate() == (model.where == Where::Crate ? climbId(model.climb) : ""));
      CHECK(hold.climb() == (model.where == Where::Wall ? climbId(model.climb) : ""));
      for (int climb = 1; climb <= kClimbs; ++climb)
        if (stripped.count(climb) == 0)
          CHECK((heldBy(climbOf(library, climbId(climb)), id) != nullptr) ==
                (model.climb == climb && model.where != Where::Shelf));
    }
    for (const auto& [place, id] : tnuts)
      CHECK(heldBy(climbOf(library, climbId(place.first)), id)->placement().column() ==
            place.second);
  }
  CHECK(done > 60);
  CHECK(refused > 60);
  CHECK(checkLibrary(path, false, {}).faults().empty());
}
