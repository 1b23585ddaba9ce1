// SPDX-License-Identifier: Apache-2.0
#include "catalog/climb_place.h"

#include <utility>

#include "catalog/climb_change.h"
#include "catalog/climb_record.h"
#include "catalog/climbs.h"
#include "catalog/gym.h"
#include "catalog/hold_record.h"
#include "catalog/library_lot.h"
#include "catalog/mounting.h"
#include "catalog/shown_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

/// The placement made whole, and that nothing is there yet.
Placement checkedPlacement(const Library& library, const Climb& climb, const std::string& hold,
                           const Placement& wanted) {
  checkRotation(wanted.rotation_deg());
  Placement placement = wanted;
  placement.set_note(shownLine(wanted.note(), 200, "place"));
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

/// @param piece  Of a lot: the id of the one that was taken.
Climb placeOn(Library& library, const std::string& id, const std::string& hold,
              const Placement& wanted, const ClimbAllowed& allowed, std::string& piece) {
  piece = hold;
  return changeClimb(library, id, allowed, [&](const Climb& climb) {
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
}

}  // namespace

std::string placePiece(Library& library, const std::string& id, const std::string& hold,
                       const Placement& placement) {
  std::string piece;
  (void)placeOn(library, id, hold, placement, {}, piece);
  return piece;
}

Climb placeHold(Library& library, const std::string& id, const std::string& hold,
                const Placement& placement, const ClimbAllowed& allowed) {
  std::string piece;
  return placeOn(library, id, hold, placement, allowed, piece);
}

}  // namespace holdshelf
