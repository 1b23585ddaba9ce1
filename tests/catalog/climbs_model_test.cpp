// SPDX-License-Identifier: Apache-2.0
// Climbs against a model in memory, under random work.
#include <doctest/doctest.h>

#include <algorithm>
#include <random>
#include <vector>

#include "catalog/climb_record.h"
#include "catalog/climbs.h"
#include "catalog/library_check.h"
#include "catalog/library_lot.h"
#include "tests/catalog/climb_model.h"
#include "tests/catalog/climb_night.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

using Where = ClimbModel::Where;

std::string climbId(int n) { return "C-000" + std::to_string(n); }

void compare(const Library& library, const ClimbModel& model, int climbs) {
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

/// Does one kind of work on the library and, where the model says that it is allowed, on the model.
class RandomWork {
 public:
  enum Kind { kAdd, kAddPieces, kDrop, kPlace, kSwap, kJoin, kWashed, kStrip, kKinds };

  RandomWork(ClimbModel& model, int climbs, unsigned seed)
      : model_(model), climbs_(climbs), random_(seed) {}

  void step(Library& library) {
    draw();
    ClimbModel::Record& m = model_.holds[hold_];
    const bool live = model_.stripped.count(climb_) == 0;
    bool allowed = false;
    if (kind_ == kAdd && m.pieces > 1 && pick(4) > 0)
      kind_ = kAddPieces;  // Lots are mostly shared.
    if (kind_ == kWashed && m.where != Where::Wash) return;
    switch (kind_) {
      case kAdd:
        allowed = add(library, m, live);
        break;
      case kAddPieces:
        allowed = addSome(library, m, live);
        break;
      case kDrop:
        allowed = model_.here(m, climb_);
        said_ = refusal([&] { dropHolds(library, climbId(climb_), {hold_}); });
        if (allowed) model_.back(hold_);
        break;
      case kPlace:
        allowed = place(library, m);
        break;
      case kSwap:
        allowed = swap(library, m);
        break;
      case kJoin:
        allowed = join(library, m);
        break;
      case kWashed:
        allowed = comeBack(library, m);
        break;
      default:
        allowed = live;
        strip(library, live);
    }
    CAPTURE(kind_);
    CAPTURE(hold_);
    CAPTURE(said_);
    CHECK(said_.empty() == allowed);
    allowed ? ++done[kind_] : ++refused;
  }

  int done[kKinds] = {}, refused = 0;

 private:
  int pick(int n) { return static_cast<int>(random_() % static_cast<unsigned>(n)); }

  void draw() {
    const int all = static_cast<int>(model_.holds.size());
    // Lots, and what was taken out of them, more often than single holds.
    hold_ = ClimbModel::holdId(
        static_cast<std::size_t>(pick(3) == 0 ? 1 + pick(2) : all - pick(std::min(all, 12))));
    other_ = ClimbModel::holdId(static_cast<std::size_t>(1 + pick(all)));
    climb_ = 1 + pick(climbs_);
    column_ = 1 + pick(8);
    count_ = 1 + pick(4);
    if (model_.holds[hold_].climb > 0 && pick(2) == 0) climb_ = model_.holds[hold_].climb;
    kind_ = pick(70) == 0 ? kStrip : static_cast<Kind>(pick(7));
    if (kind_ == kJoin && pick(2) == 0)  // Joins are rarely possible: look for one.
      for (const auto& [id, r] : model_.holds)
        if (r.where == Where::Shelf && !r.lot.empty()) hold_ = id;
    said_.clear();
  }

  bool add(Library& library, ClimbModel::Record& m, bool live) {
    const bool allowed = live && m.where == Where::Shelf;
    said_ = refusal([&] { addHolds(library, climbId(climb_), {hold_}); });
    if (allowed) m.where = Where::Crate, m.climb = climb_;
    return allowed;
  }

  bool addSome(Library& library, const ClimbModel::Record& m, bool live) {
    const bool allowed = live && m.where == Where::Shelf && count_ <= m.pieces;
    said_ = refusal([&] { addPieces(library, climbId(climb_), {hold_}, count_); });
    if (!allowed) return false;
    ClimbModel::Record& part = model_.holds[model_.take(hold_, count_)];
    part.where = Where::Crate;
    part.climb = climb_;
    return true;
  }

  bool place(Library& library, const ClimbModel::Record& m) {
    const bool one_of_many = m.pieces > 1 && m.where == Where::Crate;
    const bool allowed =
        model_.here(m, climb_) && model_.freeColumn(climb_, column_, one_of_many ? "" : hold_);
    std::string piece;
    said_ = refusal([&] { piece = placePiece(library, climbId(climb_), hold_, at(column_, 1)); });
    if (!allowed) return false;
    const std::string expected = one_of_many ? model_.take(hold_, 1) : hold_;
    CHECK(piece == expected);
    ClimbModel::Record& placed = model_.holds[expected];
    placed.where = Where::Wall;
    placed.used = true;
    placed.column = column_;
    return true;
  }

  bool swap(Library& library, const ClimbModel::Record& m) {
    const ClimbModel::Record old = m;
    const bool allowed =
        model_.here(m, climb_) && model_.holds[other_].where == Where::Shelf && m.lot != other_;
    said_ = refusal([&] { swapHold(library, climbId(climb_), hold_, other_, 0); });
    if (!allowed) return false;
    const std::string in = model_.take(other_, std::min(old.pieces, model_.holds[other_].pieces));
    model_.back(hold_);
    ClimbModel::Record& r = model_.holds[in];
    r.where = old.where;
    r.climb = climb_;
    r.column = old.column;
    r.used = r.used || old.where == Where::Wall;
    return true;
  }

  bool join(Library& library, ClimbModel::Record& m) {
    const bool allowed =
        m.where == Where::Shelf && !m.lot.empty() && model_.holds[m.lot].where == Where::Shelf;
    said_ = refusal([&] { (void)joinLot(library, hold_); });
    if (allowed) model_.holds[m.lot].pieces += m.pieces, m.where = Where::Joined;
    return allowed;
  }

  bool comeBack(Library& library, ClimbModel::Record& m) {
    Event back;
    back.set_hold(hold_);
    back.mutable_moved()->set_status(SHELF);
    library.commit({back});
    m.where = Where::Shelf;
    return true;
  }

  void strip(Library& library, bool live) {
    const std::string to = pick(2) == 0 ? "wash" : "shelf";
    said_ = refusal([&] { stripClimb(library, climbId(climb_), to); });
    if (!live) return;
    // All pieces that join a lot do so after the others went to the shelf: a lot that is in the
    // climb itself is not there to be joined.
    std::vector<std::string> gone, joining;
    for (const auto& [id, r] : model_.holds) {
      if (!model_.here(r, climb_)) continue;
      gone.push_back(id);
      if (to == "shelf" && !r.used && !r.lot.empty() && model_.holds[r.lot].where == Where::Shelf)
        joining.push_back(id);
    }
    for (const std::string& id : gone) {
      ClimbModel::Record& r = model_.holds[id];
      if (std::count(joining.begin(), joining.end(), id) > 0)
        model_.back(id);
      else
        r = {to == "wash" ? Where::Wash : Where::Shelf,
             0,
             r.pieces,
             r.lot,
             r.used || to == "wash",
             0};
    }
    model_.stripped.insert(climb_);
  }

  ClimbModel& model_;
  int climbs_;
  std::mt19937 random_;
  // What was drawn, and what the library said to it.
  Kind kind_ = kAdd;
  std::string hold_, other_, said_;
  int climb_ = 0, column_ = 0, count_ = 0;
};

}  // namespace

TEST_CASE("climbs: the library against a model in memory, random work, reopened on the way") {
  TempFolder folder;
  const std::string path = (folder / "l").string();
  constexpr int kHolds = 8, kClimbs = 6;
  ClimbModel model;
  {
    Library library = Library::openOrCreate(path);
    describeGym(library, caveGym());
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
  RandomWork work(model, kClimbs, 7);
  for (int round = 0; round < 10; ++round) {
    Library library = Library::open(path);
    for (int step = 0; step < 50; ++step) work.step(library);
    compare(library, model, kClimbs);
    CHECK(model.pieces() == pieces);  // None is lost, none appears.
  }
  for (int kind = 0; kind < RandomWork::kKinds; ++kind) {
    CAPTURE(kind);
    CHECK(work.done[kind] > 0);
  }
  CHECK(work.refused > 100);
  CHECK(checkLibrary(path, false, {}).faults().empty());
}
