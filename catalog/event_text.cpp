// SPDX-License-Identifier: Apache-2.0
#include "catalog/event_text.h"

#include "catalog/climb_record.h"
#include "catalog/hold_record.h"
#include "catalog/measured_text.h"

namespace holdshelf {
namespace {

std::string editText(const Edit& edit) {
  std::string text;
  for (const std::string& field : edit.fields()) {
    const std::string value = field == "name"      ? edit.name()
                              : field == "bin"     ? edit.bin()
                              : field == "set"     ? edit.set()
                              : field == "texture" ? edit.texture()
                              : field == "maker"   ? edit.maker()
                              : field == "colour"  ? edit.colour()
                                                   : std::to_string(edit.count());
    text += (text.empty() ? "" : ", ") + field + " is now " + (value.empty() ? "empty" : value);
  }
  return text;
}

std::string moveText(const Move& move) {
  std::string text =
      move.status() == NEEDS_LOOK ? "needs a look" : "is " + statusText(move.status());
  if (!move.crate().empty()) text += " " + move.crate();
  if (!move.zone().empty()) text += ", zone " + move.zone();
  if (!move.climb().empty()) text += ", climb " + move.climb();
  if (!move.place().empty()) text += ", at " + move.place();
  if (move.has_rotation_deg()) text += ", turned " + decimalText(move.rotation_deg(), 0) + "°";
  if (move.has_wall_angle_deg())
    text += ", " + decimalText(move.wall_angle_deg(), 0) + "° past vertical";
  return text;
}

std::string sitedText(const Sited& sited) {
  if (sited.what_case() == Sited::kGivenTo) return "belongs to the site " + sited.given_to();
  if (sited.what_case() == Sited::kLentTo) return "is lent to the site " + sited.lent_to();
  return "is back at its site";
}

}  // namespace

std::string eventText(const Event& event) {
  switch (event.change_case()) {
    case Event::kCreated:
      return (event.created().split_from().empty()
                  ? std::string("came in")
                  : "was taken out of the lot " + event.created().split_from()) +
             (event.created().name().empty() ? "" : " as " + event.created().name());
    case Event::kScanned:
      return "scanned, protrusion " + measuredText(event.scanned().shape().protrusion_mm(), "mm");
    case Event::kEdited:
      return editText(event.edited());
    case Event::kMoved:
      return moveText(event.moved());
    case Event::kNoted:
      return "note: " + event.noted();
    case Event::kPhotographed:
      return "photo added";
    case Event::kSited:
      return sitedText(event.sited());
    case Event::kClimb:
      return climbChangeText(event.climb());
    case Event::kGym:
      return "walls described: " + std::to_string(event.gym().zones_size()) + " zones";
    case Event::CHANGE_NOT_SET:
      break;
  }
  return "changed by a newer program";
}

}  // namespace holdshelf
