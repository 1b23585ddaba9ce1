// SPDX-License-Identifier: Apache-2.0
#include "catalog/climbs.h"

#include <algorithm>
#include <cctype>
#include <cstdio>
#include <map>

#include "catalog/climb_record.h"
#include "catalog/clock.h"
#include "catalog/grip_verdict.h"
#include "catalog/gym.h"
#include "catalog/hold_record.h"
#include "catalog/measured_text.h"
#include "catalog/rescan.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

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

/// Who has the hold: "in crate C-0002 (yellow 12, Maren)".
std::string whereabouts(const Library& library, const Hold& hold) {
  const std::string id = hold.status() == CRATE ? hold.crate() : hold.climb();
  std::string text = statusText(hold.status()) + (id.empty() ? "" : " " + id);
  const auto events = library.history(climbSubject(id));
  if (events.empty()) return text;
  const Climb climb = foldClimb(events);
  text += " (" + climb.name() + (climb.setter().empty() ? "" : ", " + climb.setter()) + ")";
  return text;
}

/// Whether the hold is where this climb has it.
bool isHere(const Hold& hold, const std::string& climb) {
  return (hold.status() == CRATE && hold.crate() == climb) ||
         (hold.status() == WALL && hold.climb() == climb);
}

void checkNotStripped(const Climb& climb) {
  if (climb.state() == Climb::STRIPPED)
    throw BadInput(climb.id() + " " + climb.name() +
                   " is stripped: its record stays as it is; start a new crate.");
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

/// One commit of a climb that is not stripped; `make` reads the climb and gives the events, inside
/// the transaction's check.
Climb changeClimb(Library& library, const std::string& id, std::vector<Event> events,
                  const std::function<void(const Climb&)>& check) {
  library.commit(std::move(events), [&] {
    const Climb climb = climbOf(library, id);
    checkNotStripped(climb);
    check(climb);
  });
  return climbOf(library, id);
}

ClimbHold climbHold(const Library& library, const std::string& id, const ClimbHold& what) {
  ClimbHold held = what;
  held.set_hold(id);
  held.set_name(library.hold(id).name());
  return held;
}

std::vector<std::string> climbSubjects(const Library& library) {
  std::vector<std::string> subjects;
  sqlite::Statement statement(library.database(),
                              "SELECT hold, min(number) FROM event WHERE hold >= 'climb/' AND hold "
                              "< 'climb0' GROUP BY hold ORDER BY min(number) DESC");
  while (statement.step()) subjects.push_back(statement.text(0));
  return subjects;
}

const WallPanel& panelOf(const Zone& zone, const ClimbHold& held) {
  return held.has_placement() && !held.placement().panel().empty()
             ? panelNamed(zone, held.placement().panel())
             : mainPanel(zone);
}

/// Splits "A10" into "A" and 10, so that bins sort as one walks.
std::pair<std::string, long> binKey(const std::string& bin) {
  std::size_t digits = bin.size();
  while (digits > 0 && std::isdigit(static_cast<unsigned char>(bin[digits - 1])) != 0) --digits;
  const std::string number = bin.substr(digits).substr(0, 9);
  return {bin.substr(0, digits), number.empty() ? -1 : std::stol(number)};
}

StripLine stripLine(const Library& library, const Gym& gym, const Hold& hold,
                    const std::string& now) {
  StripLine line;
  line.set_hold(hold.id());
  line.set_name(hold.name());
  line.set_bin(hold.bin());
  const RescanDue due = rescanDue(library.history(hold.id()), gym, now);
  line.set_days_on_wall(due.days_on_wall);
  line.set_climbs(due.climbs);
  line.set_rescan(due.due);
  line.set_reason(due.reason);
  return line;
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
  std::vector<Event> events;
  for (const std::string& hold : holds) {
    events.push_back(moveEvent(hold, toCrate(id)));
    ClimbChange change;
    *change.mutable_added() = climbHold(library, hold, what);
    events.push_back(climbEvent(id, change));
  }
  return changeClimb(library, id, std::move(events), [&](const Climb&) {
    for (std::size_t i = 0; i < holds.size(); ++i) {
      checkFree(library, holds[i]);
      if (std::count(holds.begin(), holds.begin() + static_cast<std::ptrdiff_t>(i), holds[i]) > 0)
        throw BadInput(holds[i] + " is named twice: name each hold once.");
    }
  });
}

Climb dropHolds(Library& library, const std::string& id, const std::vector<std::string>& holds) {
  std::vector<Event> events;
  for (const std::string& hold : holds) {
    // A hold that somebody moved elsewhere only leaves the list.
    if (isHere(library.hold(hold), id)) events.push_back(moveEvent(hold, toStatus(SHELF)));
    ClimbChange change;
    change.set_dropped(hold);
    events.push_back(climbEvent(id, change));
  }
  return changeClimb(library, id, std::move(events), [&](const Climb& climb) {
    for (const std::string& hold : holds)
      if (heldBy(climb, hold) == nullptr) checkHeld(library, climb, hold);
  });
}

Climb swapHold(Library& library, const std::string& id, const std::string& out,
               const std::string& in, double rotation_deg) {
  const Climb before = climbOf(library, id);
  checkHeld(library, before, out);
  const ClimbHold old = *heldBy(before, out);
  ClimbChange change;
  change.mutable_swapped()->set_out(out);
  ClimbHold& held = *change.mutable_swapped()->mutable_in();
  held.set_wish(old.wish());
  held.set_foot(old.foot());
  if (old.has_placement()) {
    *held.mutable_placement() = old.placement();
    held.mutable_placement()->set_rotation_deg(rotation_deg);
  }
  held = climbHold(library, in, held);
  return changeClimb(
      library, id,
      {moveEvent(out, toStatus(SHELF)),
       moveEvent(in, held.has_placement() ? toWall(before, held.placement()) : toCrate(id)),
       climbEvent(id, change)},
      [&](const Climb& climb) {
        checkHeld(library, climb, out);
        checkFree(library, in);
      });
}

Climb placeHold(Library& library, const std::string& id, const std::string& hold,
                const Placement& wanted) {
  const Climb before = climbOf(library, id);
  Placement placement = wanted;
  const Zone zone = zoneNamed(gymOf(library), before.zone());
  const WallPanel& panel = panelNamed(zone, wanted.panel());
  placement.set_panel(panel.name());
  placement.set_wall_angle_deg(panel.wall_angle_deg());
  if (placement.row() != 0 || placement.column() != 0)
    checkTnut(panel, placement.column(), placement.row());
  else if (placement.note().empty())
    throw BadInput("Say where " + hold + " is: a T-nut by column and row, or a note.");
  ClimbChange change;
  change.mutable_placed()->set_hold(hold);
  *change.mutable_placed()->mutable_placement() = placement;
  return changeClimb(
      library, id, {moveEvent(hold, toWall(before, placement)), climbEvent(id, change)},
      [&](const Climb& climb) {
        checkHeld(library, climb, hold);
        for (const ClimbHold& other : climb.holds())
          if (other.gone().empty() && other.hold() != hold && placement.row() > 0 &&
              other.placement().panel() == placement.panel() &&
              other.placement().column() == placement.column() &&
              other.placement().row() == placement.row())
            throw BadInput(other.hold() + " is on that T-nut already: choose another.");
      });
}

Climb recordBolt(Library& library, const std::string& id, const std::string& hold,
                 const std::string& bolt) {
  if (bolt.empty()) throw BadInput("Say which bolt " + hold + " has, e.g. \"M10 × 55\".");
  ClimbChange change;
  change.mutable_bolted()->set_hold(hold);
  change.mutable_bolted()->set_bolt(bolt);
  return changeClimb(library, id, {climbEvent(id, change)},
                     [&](const Climb& climb) { checkHeld(library, climb, hold); });
}

Climb useAs(Library& library, const std::string& id, const std::string& hold, bool foot) {
  ClimbChange change;
  change.mutable_used_as()->set_hold(hold);
  change.mutable_used_as()->set_foot(foot);
  return changeClimb(library, id, {climbEvent(id, change)},
                     [&](const Climb& climb) { checkHeld(library, climb, hold); });
}

Climb noteClimb(Library& library, const std::string& id, const std::string& hold,
                const std::string& text) {
  if (text.empty()) throw BadInput("The note is empty: write what was seen.");
  ClimbChange change;
  change.mutable_noted()->set_hold(hold);
  change.mutable_noted()->set_text(text);
  return changeClimb(library, id, {climbEvent(id, change)}, [&](const Climb& climb) {
    if (!hold.empty()) checkHeld(library, climb, hold);
  });
}

Climb dismissCheck(Library& library, const std::string& id, const std::string& check,
                   const std::string& hold, const std::string& reason) {
  if (reason.find_first_not_of(" \t") == std::string::npos)
    throw BadInput("A check is set aside with a reason: give --reason.");
  ClimbChange change;
  Dismissal& dismissal = *change.mutable_dismissed();
  dismissal.set_check(check);
  dismissal.set_hold(hold);
  dismissal.set_reason(reason);
  return changeClimb(library, id, {climbEvent(id, change)},
                     [&](const Climb& climb) { checkHeld(library, climb, hold); });
}

Climb openClimb(Library& library, const std::string& id) {
  ClimbChange change;
  change.set_opened(true);
  return changeClimb(library, id, {climbEvent(id, change)}, [&](const Climb& climb) {
    for (const ClimbHold& held : climb.holds())
      if (held.gone().empty() && !held.has_placement())
        throw BadInput(held.hold() + " " + held.name() +
                       " is still in the crate: place it or drop it first.");
  });
}

StripList stripList(const Library& library, const std::string& id, const std::string& to) {
  if (to != "wash" && to != "shelf")
    throw BadInput("\"" + to + "\" is nowhere holds of a stripped climb go: use wash or shelf.");
  const Gym gym = withDefaults(gymOf(library));
  StripList list;
  *list.mutable_climb() = climbOf(library, id);
  list.set_to(to);
  const std::string now = nowUtc();
  std::vector<StripLine> lines;
  for (const ClimbHold& held : list.climb().holds()) {
    if (!held.gone().empty()) continue;
    const Hold hold = library.hold(held.hold());
    if (isHere(hold, id))
      lines.push_back(stripLine(library, gym, hold, now));
    else
      list.add_not_here(hold.id() + " " + hold.name() + " is " + whereabouts(library, hold) + ".");
  }
  std::stable_sort(lines.begin(), lines.end(), [&](const StripLine& a, const StripLine& b) {
    return binBefore(gym, a.bin(), b.bin());
  });
  for (StripLine& line : lines) {
    if (list.bins().empty() || list.bins().rbegin()->bin() != line.bin())
      list.add_bins()->set_bin(line.bin());
    *list.mutable_bins()->rbegin()->add_lines() = std::move(line);
  }
  return list;
}

StripList stripClimb(Library& library, const std::string& id, const std::string& to) {
  StripList list = stripList(library, id, to);
  std::vector<Event> events;
  std::vector<std::string> holds;
  for (const StripBin& bin : list.bins())
    for (const StripLine& line : bin.lines()) {
      holds.push_back(line.hold());
      events.push_back(moveEvent(line.hold(), toStatus(to == "wash" ? WASH : SHELF)));
    }
  ClimbChange change;
  change.set_stripped(true);
  events.push_back(climbEvent(id, change));
  *list.mutable_climb() = changeClimb(library, id, std::move(events), [&](const Climb& climb) {
    for (const std::string& hold : holds) checkHeld(library, climb, hold);
  });
  return list;
}

std::vector<BoltQuestion> climbBoltQuestions(const Library& library, const Climb& climb) {
  const Gym gym = gymOf(library);
  const Zone& zone = zoneNamed(gym, climb.zone());
  std::vector<BoltQuestion> questions;
  for (const ClimbHold& held : climb.holds()) {
    if (!held.gone().empty()) continue;
    BoltQuestion question = boltQuestionOf(library.hold(held.hold()));
    const WallPanel& panel = panelOf(zone, held);
    question.panel = panel.fixing();
    question.zone = zone.name();
    questions.push_back(std::move(question));
  }
  return questions;
}

PickList pickList(const Library& library, const std::string& id, const BoltSettings& settings,
                  const std::vector<BoltStock>* stock) {
  PickList list;
  *list.mutable_climb() = climbOf(library, id);
  *list.mutable_bolts() = packBolts(climbBoltQuestions(library, list.climb()), settings, stock);
  std::map<std::string, std::string> bolts;
  for (const BoltAdvice& advice : list.bolts().bolts())
    bolts[advice.hold()] = advice.screws() > 0
                               ? std::to_string(advice.screws()) + " × " + advice.label()
                               : advice.label();
  std::vector<std::pair<std::string, PickLine>> lines;
  for (const ClimbHold& held : list.climb().holds()) {
    if (!held.gone().empty()) continue;
    const Hold hold = library.hold(held.hold());
    PickLine line;
    line.set_hold(hold.id());
    line.set_name(hold.name());
    line.set_wish(held.wish());
    line.set_foot(held.foot());
    line.set_colour(hold.colour().name());
    line.set_count(std::max(1, hold.count()));
    line.set_bolt(bolts[hold.id()]);
    lines.emplace_back(hold.bin(), std::move(line));
  }
  const Gym gym = gymOf(library);
  std::stable_sort(lines.begin(), lines.end(),
                   [&](const auto& a, const auto& b) { return binBefore(gym, a.first, b.first); });
  for (auto& [bin, line] : lines) {
    if (list.bins().empty() || list.bins().rbegin()->bin() != bin) list.add_bins()->set_bin(bin);
    *list.mutable_bins()->rbegin()->add_lines() = std::move(line);
  }
  return list;
}

std::string pickText(const PickList& list) {
  const Climb& climb = list.climb();
  std::string text = climb.id() + " " + climb.name() + ": " + climb.colour() + ", " + climb.zone() +
                     (climb.grade().empty() ? "" : ", " + climb.grade()) + "\n";
  for (const PickBin& bin : list.bins()) {
    text += (bin.bin().empty() ? "no bin" : bin.bin()) + "\n";
    for (const PickLine& line : bin.lines())
      text += "  [ ] " + line.hold() + " " + line.name() +
              (line.count() > 1 ? " (" + std::to_string(line.count()) + " pieces)" : "") +
              (line.foot()           ? ", foot"
               : line.wish().empty() ? ""
                                     : ", " + line.wish()) +
              "  " + (line.bolt().empty() ? "bolt: see below" : line.bolt()) + "\n";
  }
  return text + "\n" + boltText(list.bolts());
}

ClimbView viewClimb(const Library& library, const std::string& id) {
  ClimbView view;
  *view.mutable_climb() = climbOf(library, id);
  for (const ClimbHold& held : view.climb().holds()) {
    if (!held.gone().empty() || !held.has_placement()) continue;
    const Scan scan = library.currentFullScan(held.hold());
    const GripModel model(scan.shape());
    *view.add_verdicts() =
        verdictAt(model, {held.placement().rotation_deg(), held.placement().wall_angle_deg(), 0});
  }
  return view;
}

bool binBefore(const Gym& gym, const std::string& a, const std::string& b) {
  const auto place = [&](const std::string& bin) {
    return std::find(gym.bins().begin(), gym.bins().end(), bin) - gym.bins().begin();
  };
  return place(a) != place(b) ? place(a) < place(b) : binKey(a) < binKey(b);
}

std::string stripText(const StripList& list) {
  std::string text = climbStateText(list.climb().state()) + ": " + list.climb().id() + " " +
                     list.climb().name() + ", holds go to the " + list.to() + "\n";
  for (const StripBin& bin : list.bins()) {
    text += (bin.bin().empty() ? "no bin" : bin.bin()) + "\n";
    for (const StripLine& line : bin.lines())
      text += "  " + line.hold() + " " + line.name() +
              (line.rescan() ? "  scan anew: " + line.reason() : "") + "\n";
  }
  for (const std::string& gone : list.not_here()) text += "  not here: " + gone + "\n";
  return text;
}

}  // namespace holdshelf
