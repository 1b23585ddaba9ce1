// SPDX-License-Identifier: Apache-2.0
#include "catalog/crate_holds.h"

#include <algorithm>
#include <set>

#include "catalog/climb_change.h"
#include "catalog/climb_record.h"
#include "catalog/hold_record.h"
#include "catalog/library_lot.h"
#include "catalog/mounting.h"
#include "catalog/shown_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

/// Where it is, its bolt and what becomes of it are said later, each with its own checks.
ClimbHold climbHold(const Hold& hold, const ClimbHold& what) {
  ClimbHold held;
  held.set_hold(hold.id());
  held.set_name(hold.name());
  held.set_wish(shownLine(what.wish(), 200, "wish"));
  held.set_foot(what.foot());
  if (piecesOf(hold) > 1) held.set_pieces(piecesOf(hold));
  return held;
}

void append(std::vector<Event>& events, std::vector<Event> more) {
  for (Event& event : more) events.push_back(std::move(event));
}

/// Back to the shelf; pieces of a lot that were never mounted join it again.
std::vector<Event> backEvents(const Library& library, const std::string& hold) {
  if (isUnusedPart(library, library.hold(hold))) return joinEvents(library, {hold});
  return {moveEvent(hold, toStatus(SHELF))};
}

/// So many pieces of a lot that is free, as a hold of their own where they are not all of it.
SplitPieces freePieces(const Library& library, const std::string& lot, int pieces,
                       const std::set<std::string>& taken = {}) {
  checkFree(library, lot);
  const Hold hold = library.hold(lot);
  if (pieces > piecesOf(hold))
    throw BadInput(lot + " " + hold.name() + " has " + std::to_string(piecesOf(hold)) +
                   (piecesOf(hold) == 1 ? " piece" : " pieces") + " on the shelf now, " +
                   std::to_string(pieces) + " are wanted: take fewer.");
  if (pieces == piecesOf(hold)) return {lot, {}};
  return splitEvents(library, lot, pieces, {}, taken);
}

void checkNamedOnce(const std::vector<std::string>& holds) {
  std::set<std::string> seen;
  for (const std::string& hold : holds)
    if (!seen.insert(hold).second) throw BadInput(hold + " is named twice: name each hold once.");
}

}  // namespace

Climb addHolds(Library& library, const std::string& id, const std::vector<std::string>& holds,
               const ClimbHold& what, const ClimbAllowed& allowed) {
  return changeClimb(library, id, allowed, [&](const Climb&) {
    checkNamedOnce(holds);
    std::vector<Event> events;
    for (const std::string& hold : holds) {
      checkFree(library, hold);
      events.push_back(moveEvent(hold, toCrate(id)));
      ClimbChange change;
      *change.mutable_added() = climbHold(library.hold(hold), what);
      events.push_back(climbEvent(id, change));
    }
    return events;
  });
}

Climb addPieces(Library& library, const std::string& id, const std::vector<std::string>& lots,
                int pieces, const ClimbHold& what, const ClimbAllowed& allowed) {
  if (pieces < 1) throw BadInput("Say how many pieces to take: 1 or more.");
  return changeClimb(library, id, allowed, [&](const Climb&) {
    checkNamedOnce(lots);
    std::vector<Event> events;
    std::set<std::string> taken;
    for (const std::string& lot : lots) {
      SplitPieces split = freePieces(library, lot, pieces, taken);
      taken.insert(split.id);
      append(events, std::move(split.events));
      events.push_back(moveEvent(split.id, toCrate(id)));
      ClimbChange change;
      *change.mutable_added() = climbHold(library.hold(lot), what);
      change.mutable_added()->set_hold(split.id);
      change.mutable_added()->set_pieces(pieces > 1 ? pieces : 0);
      events.push_back(climbEvent(id, change));
    }
    return events;
  });
}

Climb dropHolds(Library& library, const std::string& id, const std::vector<std::string>& holds,
                const ClimbAllowed& allowed) {
  return changeClimb(library, id, allowed, [&](const Climb& climb) {
    checkNamedOnce(holds);
    std::vector<Event> events;
    std::vector<std::string> unused;
    for (const std::string& hold : holds) {
      if (heldBy(climb, hold) == nullptr) checkHeld(library, climb, hold);
      // A hold that somebody moved elsewhere only leaves the list.
      const Hold now = library.hold(hold);
      if (isHere(now, id) && isUnusedPart(library, now))
        unused.push_back(hold);
      else if (isHere(now, id))
        events.push_back(moveEvent(hold, toStatus(SHELF)));
      ClimbChange change;
      change.set_dropped(hold);
      events.push_back(climbEvent(id, change));
    }
    append(events, joinEvents(library, unused));
    return events;
  });
}

Climb swapHold(Library& library, const std::string& id, const std::string& out,
               const std::string& in, double rotation_deg, const ClimbAllowed& allowed) {
  checkRotation(rotation_deg);
  return changeClimb(library, id, allowed, [&](const Climb& climb) {
    checkHeld(library, climb, out);
    const ClimbHold& old = *heldBy(climb, out);
    const Hold wanted = library.hold(in);
    const int pieces = std::min(piecesOf(library.hold(out)), piecesOf(wanted));
    if (library.hold(out).split_from() == in)
      throw BadInput(out + " is of the lot " + in + ": nothing would change.");
    SplitPieces split = freePieces(library, in, pieces);
    ClimbChange change;
    change.mutable_swapped()->set_out(out);
    ClimbHold& held = *change.mutable_swapped()->mutable_in();
    held = climbHold(wanted, {});
    held.set_hold(split.id);
    held.set_pieces(pieces > 1 ? pieces : 0);
    held.set_wish(old.wish());
    held.set_foot(old.foot());
    if (old.has_placement()) {
      *held.mutable_placement() = old.placement();
      held.mutable_placement()->set_rotation_deg(rotation_deg);
    }
    std::vector<Event> events = backEvents(library, out);
    append(events, std::move(split.events));
    events.push_back(
        moveEvent(split.id, held.has_placement() ? toWall(climb, held.placement()) : toCrate(id)));
    events.push_back(climbEvent(id, change));
    return events;
  });
}

}  // namespace holdshelf
