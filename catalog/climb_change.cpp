// SPDX-License-Identifier: Apache-2.0
#include "catalog/climb_change.h"

#include "catalog/climb_record.h"
#include "catalog/climbs.h"
#include "catalog/hold_record.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

void checkNotStripped(const Climb& climb) {
  if (climb.state() == Climb::STRIPPED)
    throw BadInput(climb.id() + " " + climb.name() +
                   " is stripped: its record stays as it is; start a new crate.");
}

}  // namespace

Event climbEvent(const std::string& id, const ClimbChange& change) {
  Event event;
  event.set_subject(climbSubject(id));
  *event.mutable_climb() = change;
  return event;
}

Event moveEvent(const std::string& hold, const Move& move) {
  Event event;
  event.set_hold(hold);
  *event.mutable_moved() = move;
  return event;
}

Move toCrate(const std::string& id) {
  Move move;
  move.set_status(CRATE);
  move.set_crate(id);
  return move;
}

Move toStatus(Status status) {
  Move move;
  move.set_status(status);
  return move;
}

Move toWall(const Climb& climb, const Placement& placement) {
  Move move;
  move.set_status(WALL);
  move.set_zone(climb.zone());
  move.set_climb(climb.id());
  move.set_rotation_deg(placement.rotation_deg());
  move.set_wall_angle_deg(placement.wall_angle_deg());
  move.set_place(placementText(placement));
  return move;
}

std::string whereabouts(const Library& library, const Hold& hold) {
  const std::string id = hold.status() == CRATE ? hold.crate() : hold.climb();
  std::string text = statusText(hold.status()) + (id.empty() ? "" : " " + id);
  const auto events = library.history(climbSubject(id));
  if (events.empty()) return text;
  const Climb climb = foldClimb(events);
  text += " (" + climb.name() + (climb.setter().empty() ? "" : ", " + climb.setter()) + ")";
  return text;
}

bool isHere(const Hold& hold, const std::string& climb) {
  return (hold.status() == CRATE && hold.crate() == climb) ||
         (hold.status() == WALL && hold.climb() == climb);
}

void checkFree(const Library& library, const std::string& id) {
  const Hold hold = library.hold(id);
  if (hold.status() != SHELF)
    throw BadInput(id + " " + hold.name() + " is " + whereabouts(library, hold) +
                   ": choose another, or have it put back first.");
}

void checkHeld(const Library& library, const Climb& climb, const std::string& hold) {
  const Hold now = library.hold(hold);
  if (heldBy(climb, hold) == nullptr)
    throw BadInput(hold + " " + now.name() + " is not in " + climb.id() + ": it is " +
                   whereabouts(library, now) + ".");
  if (!isHere(now, climb.id()))
    throw BadInput(hold + " " + now.name() + " is no longer in " + climb.id() + ": it is " +
                   whereabouts(library, now) + "; drop it from the crate.");
}

Climb changeClimb(Library& library, const std::string& id, const ClimbAllowed& allowed,
                  const std::function<std::vector<Event>(const Climb&)>& make) {
  std::vector<Event> events;
  const std::vector<Event> added = library.commitMade([&] {
    const Climb climb = climbOf(library, id);
    events = library.history(climbSubject(id));
    if (allowed) allowed(events);
    checkNotStripped(climb);
    return make(climb);
  });
  // Not read anew: what is stored is no failure, even where the library cannot be asked any more.
  for (const Event& event : added)
    if (subjectOf(event) == climbSubject(id)) events.push_back(event);
  std::vector<Event> ordered;
  for (const Event* event : inOrder(events)) ordered.push_back(*event);
  return foldClimb(ordered);
}

}  // namespace holdshelf
