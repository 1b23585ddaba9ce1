// SPDX-License-Identifier: Apache-2.0
#include "catalog/climb_record.h"

#include <algorithm>
#include <array>
#include <cstdint>
#include <cstdio>
#include <string_view>

#include "catalog/measured_text.h"

namespace holdshelf {
namespace {

constexpr std::string_view kSubject = "climb/";

ClimbHold* find(Climb& climb, const std::string& hold) {
  for (ClimbHold& held : *climb.mutable_holds())
    if (held.hold() == hold && held.gone().empty()) return &held;
  return nullptr;
}

void leave(Climb& climb, const std::string& hold, const std::string& why) {
  if (ClimbHold* held = find(climb, hold)) held->set_gone(why);
}

/// What was said of the hold where it was mounted before no longer counts.
void place(Climb& climb, const ClimbHold& placed) {
  ClimbHold* held = find(climb, placed.hold());
  if (held == nullptr) return;
  *held->mutable_placement() = placed.placement();
  if (!placed.former_bolt().empty()) {
    held->set_former_bolt(placed.former_bolt());
    held->clear_bolt();
  }
  if (climb.state() == Climb::PACKING) climb.set_state(Climb::SETTING);
  for (Dismissal& dismissal : *climb.mutable_dismissals())
    if (dismissal.hold() == placed.hold()) dismissal.set_outdated(true);
}

/// A piece that comes out of a lot of the climb leaves one fewer in it.
void add(Climb& climb, const ClimbHold& added) {
  if (ClimbHold* lot = added.split_from().empty() ? nullptr : find(climb, added.split_from()))
    lot->set_pieces(std::max(1, lot->pieces() - 1));
  *climb.add_holds() = added;
}

void swap(Climb& climb, const ClimbSwap& change) {
  leave(climb, change.out(), "swapped for " + change.in().hold());
  *climb.add_holds() = change.in();
  for (Dismissal& dismissal : *climb.mutable_dismissals())
    if (dismissal.hold() == change.out()) dismissal.set_outdated(true);
}

std::string piecesNote(const ClimbHold& held) {
  return held.pieces() > 1 ? " (" + std::to_string(held.pieces()) + " pieces)" : "";
}

}  // namespace

void applyClimbEvent(Climb& climb, const Event& event) {
  const ClimbChange& change = event.climb();
  switch (change.what_case()) {
    case ClimbChange::kStarted:
      climb = change.started();
      climb.set_started_at(event.at());
      climb.set_state(Climb::PACKING);
      break;
    case ClimbChange::kAdded:
      add(climb, change.added());
      break;
    case ClimbChange::kDropped:
      leave(climb, change.dropped(), "put back");
      break;
    case ClimbChange::kSwapped:
      swap(climb, change.swapped());
      break;
    case ClimbChange::kPlaced:
      place(climb, change.placed());
      break;
    case ClimbChange::kBolted:
      if (ClimbHold* held = find(climb, change.bolted().hold())) {
        held->set_bolt(change.bolted().bolt());
        held->clear_former_bolt();
      }
      break;
    case ClimbChange::kUsedAs:
      if (ClimbHold* held = find(climb, change.used_as().hold()))
        held->set_foot(change.used_as().foot());
      break;
    case ClimbChange::kNoted: {
      ClimbNote& note = *climb.add_notes();
      note = change.noted();
      note.set_at(event.at());
      note.set_who(event.who());
      break;
    }
    case ClimbChange::kDismissed: {
      Dismissal& dismissal = *climb.add_dismissals();
      dismissal = change.dismissed();
      dismissal.set_at(event.at());
      dismissal.set_who(event.who());
      break;
    }
    case ClimbChange::kOpened:
      climb.set_state(Climb::OPEN);
      climb.set_opened_at(event.at());
      break;
    case ClimbChange::kStripped:
      climb.set_state(Climb::STRIPPED);
      climb.set_stripped_at(event.at());
      break;
    case ClimbChange::WHAT_NOT_SET:
      break;
  }
}

Climb foldClimb(const std::vector<Event>& events) {
  Climb climb;
  std::int64_t version = 0;  // What was merged in may be stored last and belong before others.
  for (const Event& event : events) {
    applyClimbEvent(climb, event);
    version = std::max(version, event.number());
  }
  climb.set_version(version);
  return climb;
}

const ClimbHold* heldBy(const Climb& climb, const std::string& hold) {
  for (const ClimbHold& held : climb.holds())
    if (held.hold() == hold && held.gone().empty()) return &held;
  return nullptr;
}

std::string climbId(std::size_t number) {
  std::array<char, 32> id{};
  std::snprintf(id.data(), id.size(), "C-%04zu", number);
  return id.data();
}

std::string climbSubject(const std::string& id) { return std::string(kSubject) + id; }

std::string climbOfSubject(const std::string& subject) {
  return subject.starts_with(kSubject) ? subject.substr(kSubject.size()) : "";
}

std::string climbStateText(Climb::State state) {
  switch (state) {
    case Climb::PACKING:
      return "packing";
    case Climb::SETTING:
      return "setting";
    case Climb::OPEN:
      return "open";
    case Climb::STRIPPED:
      return "stripped";
    default:
      return "unknown";
  }
}

std::string placementText(const Placement& p) {
  std::string text;
  if (p.row() > 0)
    text = "column " + std::to_string(p.column()) + ", row " + std::to_string(p.row());
  if (!p.note().empty()) text += (text.empty() ? "" : ", ") + p.note();
  if (!p.panel().empty()) text += (text.empty() ? "on " : " of ") + p.panel();
  return text + ", turned " + decimalText(p.rotation_deg(), 0) + "°";
}

std::string climbChangeText(const ClimbChange& change) {
  switch (change.what_case()) {
    case ClimbChange::kStarted:
      return "crate started: " + change.started().name() + " " + change.started().grade();
    case ClimbChange::kAdded:
      return change.added().split_from().empty()
                 ? change.added().hold() + piecesNote(change.added()) + " put into the crate"
                 : change.added().hold() + " is a piece of " + change.added().split_from();
    case ClimbChange::kDropped:
      return change.dropped() + " put back";
    case ClimbChange::kSwapped:
      return change.swapped().out() + " swapped for " + change.swapped().in().hold();
    case ClimbChange::kPlaced:
      return change.placed().hold() + " at " + placementText(change.placed().placement()) +
             (change.placed().former_bolt().empty()
                  ? ""
                  : "; fixed otherwise there: its bolt " + change.placed().former_bolt() +
                        " no longer counts");
    case ClimbChange::kBolted:
      return change.bolted().hold() + " fixed with " + change.bolted().bolt();
    case ClimbChange::kUsedAs:
      return change.used_as().hold() +
             (change.used_as().foot() ? " is a foothold" : " is for hands");
    case ClimbChange::kNoted:
      return "note" + (change.noted().hold().empty() ? "" : " on " + change.noted().hold()) + ": " +
             change.noted().text();
    case ClimbChange::kDismissed:
      return "check \"" + change.dismissed().check() + "\" of " + change.dismissed().hold() +
             " set aside: " + change.dismissed().reason();
    case ClimbChange::kOpened:
      return "open";
    case ClimbChange::kStripped:
      return "stripped";
    case ClimbChange::WHAT_NOT_SET:
      break;
  }
  return "changed by a newer program";
}

std::string climbText(const Climb& climb) {
  std::string text = climb.id() + " " + climb.name() + ": " + climbStateText(climb.state()) + ", " +
                     climb.colour() + ", zone " + climb.zone() +
                     (climb.grade().empty() ? "" : ", " + climb.grade()) +
                     (climb.setter().empty() ? "" : ", set by " + climb.setter()) + "\n";
  std::vector<std::vector<std::string>> rows = {{"hold", "name", "as", "where", "bolt"}};
  for (const ClimbHold& h : climb.holds()) {
    const std::string where = !h.gone().empty()   ? h.gone()
                              : h.has_placement() ? placementText(h.placement())
                                                  : "in the crate";
    rows.push_back({h.hold(), h.name() + piecesNote(h), h.foot() ? "foot" : h.wish(), where,
                    h.former_bolt().empty()
                        ? h.bolt()
                        : "record anew: " + h.former_bolt() + " was for another panel"});
  }
  if (rows.size() > 1) text += tableText(rows);
  for (const ClimbNote& note : climb.notes())
    text += "  note" + (note.hold().empty() ? "" : " on " + note.hold()) +
            (note.has_placement() ? " at " + placementText(note.placement()) : "") + " (" +
            note.who() + "): " + note.text() + "\n";
  for (const Dismissal& d : climb.dismissals())
    text += "  set aside: " + d.check() + " of " + d.hold() + ": " + d.reason() +
            (d.outdated() ? " (mounted anew since)" : "") + "\n";
  return text;
}

}  // namespace holdshelf
