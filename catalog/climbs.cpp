// SPDX-License-Identifier: Apache-2.0
#include "catalog/climbs.h"

#include <algorithm>
#include <cstdio>
#include <set>

#include "catalog/climb_change.h"
#include "catalog/climb_checks.h"
#include "catalog/climb_record.h"
#include "catalog/grip_verdict.h"
#include "catalog/gym.h"
#include "catalog/hold_record.h"
#include "catalog/library_lot.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

ClimbHold climbHold(const Hold& hold, const ClimbHold& what) {
  ClimbHold held = what;
  held.set_hold(hold.id());
  held.set_name(hold.name());
  if (piecesOf(hold) > 1) held.set_pieces(piecesOf(hold));
  return held;
}

std::vector<std::string> climbSubjects(const Library& library) {
  return library.store().subjects("climb/");
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

/// The placement made whole, and that nothing is there yet.
Placement checkedPlacement(const Library& library, const Climb& climb, const std::string& hold,
                           const Placement& wanted) {
  Placement placement = wanted;
  const Zone zone = zoneNamed(gymOf(library), climb.zone());
  const WallPanel& panel = panelNamed(zone, wanted.panel());
  placement.set_panel(panel.name());
  placement.set_wall_angle_deg(panel.wall_angle_deg());
  if (placement.row() != 0 || placement.column() != 0)
    checkTnut(panel, placement.column(), placement.row());
  else if (placement.note().empty())
    throw BadInput("Say where " + hold + " is: a T-nut by column and row, or a note.");
  for (const ClimbHold& other : climb.holds())
    if (other.gone().empty() && other.hold() != hold && placement.row() > 0 &&
        other.placement().panel() == placement.panel() &&
        other.placement().column() == placement.column() &&
        other.placement().row() == placement.row())
      throw BadInput(other.hold() + " is on that T-nut already: choose another.");
  return placement;
}

/// Whether the bolt that is recorded was for a panel of other thickness, T-nut or thread. One that
/// was written down before the hold hung anywhere was for no other: it is judged where it hangs.
bool fixedOtherwise(const Library& library, const Climb& climb, const ClimbHold& held,
                    const Placement& placement) {
  if (held.bolt().empty() || !held.has_placement()) return false;
  if (held.placement().panel() == placement.panel()) return false;
  const Zone zone = zoneNamed(gymOf(library), climb.zone());
  const Panel& now = panelNamed(zone, placement.panel()).fixing();
  for (const WallPanel& panel : zone.panels())
    if (panel.name() == held.placement().panel()) return !sameFixing(panel.fixing(), now);
  return true;  // The panel it was on is not described any more.
}

/// One piece of a crate's lot, with its place in the list of holds.
std::vector<Event> takeOneEvents(const Library& library, const Climb& climb, const ClimbHold& lot,
                                 std::string& piece) {
  SplitPieces split = splitEvents(library, lot.hold(), 1);
  piece = split.id;
  ClimbChange change;
  ClimbHold& added = *change.mutable_added();
  added.set_hold(piece);
  added.set_name(lot.name());
  added.set_wish(lot.wish());
  added.set_foot(lot.foot());
  added.set_split_from(lot.hold());
  split.events.push_back(climbEvent(climb.id(), change));
  return std::move(split.events);
}

/// A change of one hold of the climb, and of nothing else.
Climb changeHeld(Library& library, const std::string& id, const std::string& hold,
                 const ClimbChange& change) {
  return changeClimb(library, id, [&](const Climb& climb) {
    if (!hold.empty()) checkHeld(library, climb, hold);
    return std::vector<Event>{climbEvent(id, change)};
  });
}

}  // namespace

Climb climbOf(const Library& library, const std::string& id) {
  const auto events = library.history(climbSubject(id));
  if (!events.empty()) return foldClimb(events);
  throw BadInput("There is no crate or climb " + id + " in " + library.folder().string() +
                 ": holdshelf crate list names those there are.");
}

ClimbList listClimbs(const Library& library, bool stripped) {
  ClimbList list;
  for (const std::string& subject : climbSubjects(library)) {
    Climb climb = foldClimb(library.history(subject));
    if (stripped || climb.state() != Climb::STRIPPED) *list.add_climbs() = std::move(climb);
  }
  return list;
}

EventList climbHistory(const Library& library, const std::string& id) {
  (void)climbOf(library, id);
  EventList list;
  for (Event& event : library.history(climbSubject(id))) *list.add_events() = std::move(event);
  return list;
}

Climb startClimb(Library& library, const Climb& wanted) {
  if (wanted.name().empty()) throw BadInput("A crate needs a name: give --name.");
  (void)zoneNamed(gymOf(library), wanted.zone());
  // Whoever is first with an id gets it; the other tries the next one.
  for (std::size_t number = climbSubjects(library).size() + 1;; ++number) {
    char id[32];
    std::snprintf(id, sizeof id, "C-%04zu", number);
    ClimbChange change;
    Climb& climb = *change.mutable_started();
    climb.set_id(id);
    climb.set_name(wanted.name());
    climb.set_colour(wanted.colour());
    climb.set_zone(wanted.zone());
    climb.set_grade(wanted.grade());
    climb.set_setter(wanted.setter());
    struct Taken {};
    try {
      library.commit({climbEvent(id, change)}, [&] {
        if (!library.history(climbSubject(id)).empty()) throw Taken();
      });
      return climbOf(library, id);
    } catch (const Taken&) {
    }
  }
}

Climb addHolds(Library& library, const std::string& id, const std::vector<std::string>& holds,
               const ClimbHold& what) {
  return changeClimb(library, id, [&](const Climb&) {
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
                int pieces, const ClimbHold& what) {
  if (pieces < 1) throw BadInput("Say how many pieces to take: 1 or more.");
  return changeClimb(library, id, [&](const Climb&) {
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

Climb dropHolds(Library& library, const std::string& id, const std::vector<std::string>& holds) {
  return changeClimb(library, id, [&](const Climb& climb) {
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
               const std::string& in, double rotation_deg) {
  return changeClimb(library, id, [&](const Climb& climb) {
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

std::string placePiece(Library& library, const std::string& id, const std::string& hold,
                       const Placement& wanted) {
  std::string piece = hold;
  changeClimb(library, id, [&](const Climb& climb) {
    checkHeld(library, climb, hold);
    const ClimbHold& held = *heldBy(climb, hold);
    const bool one_of_many = piecesOf(library.hold(hold)) > 1 && !held.has_placement();
    const Placement placement = checkedPlacement(library, climb, one_of_many ? "" : hold, wanted);
    std::vector<Event> events;
    if (one_of_many) events = takeOneEvents(library, climb, held, piece);
    ClimbChange change;
    change.mutable_placed()->set_hold(piece);
    *change.mutable_placed()->mutable_placement() = placement;
    if (!one_of_many && fixedOtherwise(library, climb, held, placement))
      change.mutable_placed()->set_former_bolt(held.bolt());
    events.push_back(moveEvent(piece, toWall(climb, placement)));
    events.push_back(climbEvent(id, change));
    return events;
  });
  return piece;
}

Climb placeHold(Library& library, const std::string& id, const std::string& hold,
                const Placement& placement) {
  (void)placePiece(library, id, hold, placement);
  return climbOf(library, id);
}

Climb recordBolt(Library& library, const std::string& id, const std::string& hold,
                 const std::string& bolt) {
  if (bolt.empty()) throw BadInput("Say which bolt " + hold + " has, e.g. \"M10 × 55\".");
  ClimbChange change;
  change.mutable_bolted()->set_hold(hold);
  change.mutable_bolted()->set_bolt(bolt);
  return changeHeld(library, id, hold, change);
}

Climb useAs(Library& library, const std::string& id, const std::string& hold, bool foot) {
  ClimbChange change;
  change.mutable_used_as()->set_hold(hold);
  change.mutable_used_as()->set_foot(foot);
  return changeHeld(library, id, hold, change);
}

Climb noteClimb(Library& library, const std::string& id, const std::string& hold,
                const std::string& text) {
  if (text.empty()) throw BadInput("The note is empty: write what was seen.");
  return changeClimb(library, id, [&](const Climb& climb) {
    if (!hold.empty()) checkHeld(library, climb, hold);
    ClimbChange change;
    change.mutable_noted()->set_hold(hold);
    change.mutable_noted()->set_text(text);
    const ClimbHold* held = hold.empty() ? nullptr : heldBy(climb, hold);
    if (held != nullptr && held->has_placement())
      *change.mutable_noted()->mutable_placement() = held->placement();
    return std::vector<Event>{climbEvent(id, change)};
  });
}

Climb dismissCheck(Library& library, const std::string& id, const std::string& check,
                   const std::string& hold, const std::string& reason) {
  if (reason.find_first_not_of(" \t") == std::string::npos)
    throw BadInput("A check is set aside with a reason: give --reason.");
  const ClimbCheck found = openCheck(library, id, check, hold);
  ClimbChange change;
  Dismissal& dismissal = *change.mutable_dismissed();
  dismissal.set_check(check);
  dismissal.set_hold(hold);
  dismissal.set_reason(reason);
  dismissal.set_found(found.reason());
  dismissal.set_grade(found.grade());
  dismissal.set_severity(found.severity());
  return changeClimb(library, id, [&](const Climb& climb) {
    // That a hold is elsewhere by now can be set aside as well.
    if (heldBy(climb, hold) == nullptr) checkHeld(library, climb, hold);
    return std::vector<Event>{climbEvent(id, change)};
  });
}

Climb openClimb(Library& library, const std::string& id) {
  return changeClimb(library, id, [&](const Climb& climb) {
    for (const ClimbHold& held : climb.holds())
      if (held.gone().empty() && !held.has_placement())
        throw BadInput(held.hold() + " " + held.name() +
                       " is still in the crate: place it or drop it first.");
    ClimbChange change;
    change.set_opened(true);
    return std::vector<Event>{climbEvent(id, change)};
  });
}

ClimbView viewClimb(const Library& library, const std::string& id) {
  ClimbView view;
  *view.mutable_climb() = climbOf(library, id);
  for (const ClimbHold& held : view.climb().holds()) {
    if (!held.gone().empty() || !held.has_placement()) continue;
    if (currentScan(library.hold(held.hold())) == nullptr) {
      view.add_verdicts()->set_sentence("No scan: not judged.");
      continue;
    }
    const Scan scan = library.currentFullScan(held.hold());
    const GripModel model(scan.shape());
    *view.add_verdicts() =
        verdictAt(model, {held.placement().rotation_deg(), held.placement().wall_angle_deg(), 0});
  }
  return view;
}

}  // namespace holdshelf
