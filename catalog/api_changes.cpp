// SPDX-License-Identifier: Apache-2.0
// Routes by which people say what happened to one hold: each writes one event.
#include <algorithm>

#include "catalog/api.h"
#include "catalog/console.h"
#include "catalog/foreign_event.h"
#include "catalog/mounting.h"
#include "catalog/shown_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

ApiReply commitOne(Service& service, const ApiRequest& request, Event event) {
  event.set_hold(request.id());
  event.set_who(request.device);
  Library library = service.library();
  (void)library.hold(request.id());
  // Stored, it could not be taken to another library.
  if (const std::string untruth = untruthIn(event); !untruth.empty())
    throw BadInput("This cannot be so: " + untruth + ".");
  EventList stored;
  for (Event& done : library.commit({std::move(event)})) *stored.add_events() = std::move(done);
  service.announce();
  return jsonReply(stored);
}

ApiReply move(Service& service, const ApiRequest& request) {
  Event event;
  Move& move = *event.mutable_moved();
  fromJson(request.body, "The move", move);
  if (move.status() == STATUS_UNSPECIFIED)
    throw BadInput("Say where the hold goes: SHELF, CRATE, WALL, WASH, NEEDS_LOOK or RETIRED.");
  move.set_crate(shownLine(move.crate(), 200, "crate"));
  move.set_zone(shownLine(move.zone(), 200, "zone"));
  move.set_climb(shownLine(move.climb(), 200, "climb"));
  move.set_place(shownLine(move.place(), 200, "place"));
  checkRotation(move.rotation_deg());
  checkLean(move.wall_angle_deg());
  const bool by_setter = move.status() == SHELF || move.status() == CRATE || move.status() == WALL;
  const Role needed = by_setter ? Role::Set : move.status() == RETIRED ? Role::Head : Role::Log;
  if (request.role < needed)
    throw ApiError(403, "This needs the role " + roleWord(needed) + ": ask the head setter.");
  if (!move.crate().empty() && move.status() != CRATE)
    throw BadInput("A crate goes with the status CRATE only.");
  if ((!move.zone().empty() || !move.climb().empty()) && move.status() != WALL)
    throw BadInput("Zone and climb go with the status WALL only.");
  return commitOne(service, request, event);
}

ApiReply edit(Service& service, const ApiRequest& request) {
  Event event;
  Edit& edited = *event.mutable_edited();
  fromJson(request.body, "The edit", edited);
  edited.set_name(shownLine(edited.name(), 200, "name"));
  edited.set_bin(shownLine(edited.bin(), 100, "bin"));
  edited.set_set(shownLine(edited.set(), 200, "set"));
  edited.set_texture(shownLine(edited.texture(), 200, "texture"));
  edited.set_maker(shownLine(edited.maker(), 200, "maker"));
  for (const std::string& field : edited.fields())
    if (field != "name" && field != "bin" && field != "set" && field != "texture" &&
        field != "maker" && field != "count")
      throw BadInput("\"" + field.substr(0, 40) +
                     "\" cannot be edited: name, bin, set, texture, maker and count can.");
  if (edited.fields().empty()) throw BadInput("Nothing to change is named.");
  const auto& fields = edited.fields();
  if (std::find(fields.begin(), fields.end(), "count") == fields.end())
    edited.clear_count();
  else if (edited.count() < 1 || edited.count() > 100'000)
    throw BadInput("The number of pieces goes from 1 to 100000.");
  return commitOne(service, request, event);
}

ApiReply note(Service& service, const ApiRequest& request) {
  Note note;
  fromJson(request.body, "The note", note);
  Event event;
  event.set_noted(shownText(note.text(), 4000, "note"));
  if (event.noted().empty()) throw BadInput("The note is empty: write something first.");
  return commitOne(service, request, event);
}

}  // namespace

std::vector<ApiRoute> changeRoutes() {
  return {
      {.method = "POST",
       .path = "/api/v1/holds/{id}/move",
       .role = Role::Set,
       .summary = "Say where the hold went; to the wash or for a look needs log, to retire head",
       .takes = Move::descriptor(),
       .gives = EventList::descriptor(),
       .answer = move},
      {.method = "POST",
       .path = "/api/v1/holds/{id}/edit",
       .role = Role::Log,
       .summary = "Change what people say of the hold",
       .takes = Edit::descriptor(),
       .gives = EventList::descriptor(),
       .answer = edit},
      {.method = "POST",
       .path = "/api/v1/holds/{id}/note",
       .role = Role::Set,
       .summary = "Write a note; only its text is read",
       .takes = Note::descriptor(),
       .gives = EventList::descriptor(),
       .answer = note},
  };
}

}  // namespace holdshelf
