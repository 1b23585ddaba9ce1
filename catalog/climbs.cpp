// SPDX-License-Identifier: Apache-2.0
#include "catalog/climbs.h"

#include "catalog/climb_change.h"
#include "catalog/climb_checks.h"
#include "catalog/climb_record.h"
#include "catalog/grip_verdict.h"
#include "catalog/gym.h"
#include "catalog/hold_record.h"
#include "catalog/shown_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr std::size_t kLongestLine = 200, kLongestBolt = 80;  ///< Letters.
constexpr std::size_t kLongestReason = 1000, kLongestNote = 4000;

std::vector<std::string> climbSubjects(const Library& library) {
  return library.store().subjects(climbSubject(""));
}

/// A change of one hold of the climb, and of nothing else.
Climb changeHeld(Library& library, const std::string& id, const std::string& hold,
                 const ClimbChange& change, const ClimbAllowed& allowed) {
  return changeClimb(library, id, allowed, [&](const Climb& climb) {
    if (!hold.empty()) checkHeld(library, climb, hold);
    return std::vector<Event>{climbEvent(id, change)};
  });
}

}  // namespace

Climb climbOf(const Library& library, const std::string& id) {
  const auto events = library.history(climbSubject(id));
  if (!events.empty()) return foldClimb(events);
  throw BadInput("There is no crate or climb " + givenStart(id, 40) + " in " +
                 library.folder().string() + ": holdshelf crate list names those there are.");
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
  Climb shown;
  shown.set_name(shownLine(wanted.name(), kLongestLine, "name"));
  shown.set_colour(shownLine(wanted.colour(), kLongestLine, "colour"));
  shown.set_zone(wanted.zone());
  shown.set_grade(shownLine(wanted.grade(), kLongestLine, "grade"));
  shown.set_setter(shownLine(wanted.setter(), kLongestLine, "setter"));
  if (shown.name().empty()) throw BadInput("A crate needs a name: give --name.");
  (void)zoneNamed(gymOf(library), wanted.zone());
  // Whoever is first with an id gets it; the other tries the next one.
  for (std::size_t number = climbSubjects(library).size() + 1;; ++number) {
    const std::string id = climbId(number);
    ClimbChange change;
    *change.mutable_started() = shown;
    change.mutable_started()->set_id(id);
    struct Taken {};
    try {
      return foldClimb(library.commit({climbEvent(id, change)}, [&] {
        if (!library.history(climbSubject(id)).empty()) throw Taken();
      }));
    } catch (const Taken&) {
    }
  }
}

Climb recordBolt(Library& library, const std::string& id, const std::string& hold,
                 const std::string& bolt, const ClimbAllowed& allowed) {
  const std::string shown = shownLine(bolt, kLongestBolt, "bolt");
  if (shown.empty()) throw BadInput("Say which bolt " + hold + " has, e.g. \"M10 × 55\".");
  ClimbChange change;
  change.mutable_bolted()->set_hold(hold);
  change.mutable_bolted()->set_bolt(shown);
  return changeHeld(library, id, hold, change, allowed);
}

Climb useAs(Library& library, const std::string& id, const std::string& hold, bool foot,
            const ClimbAllowed& allowed) {
  ClimbChange change;
  change.mutable_used_as()->set_hold(hold);
  change.mutable_used_as()->set_foot(foot);
  return changeHeld(library, id, hold, change, allowed);
}

Climb noteClimb(Library& library, const std::string& id, const std::string& hold,
                const std::string& text, const ClimbAllowed& allowed) {
  const std::string shown = shownText(text, kLongestNote, "note");
  if (shown.empty()) throw BadInput("The note is empty: write what was seen.");
  return changeClimb(library, id, allowed, [&](const Climb& climb) {
    if (!hold.empty()) checkHeld(library, climb, hold);
    ClimbChange change;
    change.mutable_noted()->set_hold(hold);
    change.mutable_noted()->set_text(shown);
    const ClimbHold* held = hold.empty() ? nullptr : heldBy(climb, hold);
    if (held != nullptr && held->has_placement())
      *change.mutable_noted()->mutable_placement() = held->placement();
    return std::vector<Event>{climbEvent(id, change)};
  });
}

Climb dismissCheck(Library& library, const std::string& id, const std::string& check,
                   const std::string& hold, const std::string& reason, const Progress& progress,
                   const ClimbAllowed& allowed) {
  const std::string shown = shownText(reason, kLongestReason, "reason");
  if (shown.empty()) throw BadInput("A check is set aside with a reason: give --reason.");
  if (allowed) allowed(library.history(climbSubject(id)));
  const ClimbCheck found = openCheck(library, id, check, hold, {}, progress);
  ClimbChange change;
  Dismissal& dismissal = *change.mutable_dismissed();
  dismissal.set_check(check);
  dismissal.set_hold(hold);
  dismissal.set_reason(shown);
  dismissal.set_found(found.reason());
  dismissal.set_grade(found.grade());
  dismissal.set_severity(found.severity());
  return changeClimb(library, id, allowed, [&](const Climb& climb) {
    // That a hold is elsewhere by now can be set aside as well.
    if (heldBy(climb, hold) == nullptr) checkHeld(library, climb, hold);
    return std::vector<Event>{climbEvent(id, change)};
  });
}

Climb openClimb(Library& library, const std::string& id, const ClimbAllowed& allowed) {
  return changeClimb(library, id, allowed, [&](const Climb& climb) {
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
