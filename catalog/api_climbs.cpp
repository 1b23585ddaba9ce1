// SPDX-License-Identifier: Apache-2.0
// Routes of a setter's night: walls, crates and climbs.
#include "catalog/api.h"
#include "catalog/climb_conflict.h"
#include "catalog/climb_record.h"
#include "catalog/climbs.h"
#include "catalog/console.h"
#include "catalog/gym.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

ApiReply gym(Service& service, const ApiRequest&) { return jsonReply(gymOf(service.library())); }

ApiReply setGym(Service& service, const ApiRequest& request) {
  Gym gym;
  fromJson(request.body, "The walls", gym);
  Library library = service.library();
  library.actAs(request.device);
  describeGym(library, gym);
  service.announce();
  return jsonReply(gym);  // As stored: that the library is lost by now is no failure.
}

ApiReply climbs(Service& service, const ApiRequest& request) {
  return jsonReply(listClimbs(service.library(), request.text("stripped") == "true"));
}

ApiReply climb(Service& service, const ApiRequest& request) {
  return jsonReply(climbOf(service.library(), request.id()));
}

ApiReply start(Service& service, const ApiRequest& request) {
  Climb wanted;
  fromJson(request.body, "The crate", wanted);
  Library library = service.library();
  library.actAs(request.device);
  const Climb made = startClimb(library, wanted);
  service.announce();
  return jsonReply(made);
}

/// @throws ApiError  409 with what was done meanwhile and by whom.
void checkVersion(const Library& library, const std::string& id, std::int64_t version,
                  const ClimbChange& wanted) {
  const EventList events = climbHistory(library, id);
  for (const Event& event : events.events())
    if (event.number() > version && disturbs(event.climb(), wanted))
      throw ApiError(409, event.who() + " was first: " + climbChangeText(event.climb()) +
                              ". Look at it as it is now, then decide again.");
}

Climb apply(Library& library, const std::string& id, const ClimbChange& change,
            const std::string& to) {
  switch (change.what_case()) {
    case ClimbChange::kAdded:
      if (change.added().pieces() > 0)
        return addPieces(library, id, {change.added().hold()}, change.added().pieces(),
                         change.added());
      return addHolds(library, id, {change.added().hold()}, change.added());
    case ClimbChange::kDropped:
      return dropHolds(library, id, {change.dropped()});
    case ClimbChange::kSwapped:
      return swapHold(library, id, change.swapped().out(), change.swapped().in().hold(),
                      change.swapped().in().placement().rotation_deg());
    case ClimbChange::kPlaced:
      return placeHold(library, id, change.placed().hold(), change.placed().placement());
    case ClimbChange::kBolted:
      return recordBolt(library, id, change.bolted().hold(), change.bolted().bolt());
    case ClimbChange::kUsedAs:
      return useAs(library, id, change.used_as().hold(), change.used_as().foot());
    case ClimbChange::kNoted:
      return noteClimb(library, id, change.noted().hold(), change.noted().text());
    case ClimbChange::kDismissed:
      return dismissCheck(library, id, change.dismissed().check(), change.dismissed().hold(),
                          change.dismissed().reason());
    case ClimbChange::kOpened:
      return openClimb(library, id);
    case ClimbChange::kStripped:
      return stripClimb(library, id, to).climb();
    default:
      throw BadInput("The change names nothing to do: see ClimbChange in proto/climb.proto.");
  }
}

ApiReply change(Service& service, const ApiRequest& request) {
  ClimbChange wanted;
  fromJson(request.body, "The change", wanted);
  if (request.body.size() > 8000) throw BadInput("The change is longer than 8000 letters.");
  Library library = service.library();
  library.actAs(request.device);
  // Between the look at the version and the commit no other device of this server comes in; other
  // programs are met by the commit's own check that every hold is still where it was.
  const std::lock_guard lock(service.climb_mutex);
  if (const auto version = request.wholeNumber("version"))
    checkVersion(library, request.id(), *version, wanted);
  const Climb changed = apply(library, request.id(), wanted, request.text("to", "wash"));
  service.announce();
  return jsonReply(changed);
}

ApiReply history(Service& service, const ApiRequest& request) {
  return jsonReply(climbHistory(service.library(), request.id()));
}

}  // namespace

std::vector<ApiRoute> climbRoutes() {
  return {
      {.method = "GET",
       .path = "/api/v1/gym",
       .summary = "The walls as last described",
       .gives = Gym::descriptor(),
       .answer = gym},
      {.method = "POST",
       .path = "/api/v1/gym",
       .role = Role::Head,
       .summary = "Describe the walls anew",
       .takes = Gym::descriptor(),
       .gives = Gym::descriptor(),
       .answer = setGym},
      {.method = "GET",
       .path = "/api/v1/climbs",
       .summary = "Crates and climbs, the newest first",
       .query = {{"stripped", "boolean", "Stripped ones too"}},
       .gives = ClimbList::descriptor(),
       .answer = climbs},
      {.method = "POST",
       .path = "/api/v1/climbs",
       .role = Role::Set,
       .summary = "Start a crate: name, colour, zone, grade and setter are read",
       .takes = Climb::descriptor(),
       .gives = Climb::descriptor(),
       .answer = start},
      {.method = "GET",
       .path = "/api/v1/climbs/{id}",
       .summary = "A crate or climb",
       .gives = Climb::descriptor(),
       .answer = climb},
      {.method = "POST",
       .path = "/api/v1/climbs/{id}/change",
       .role = Role::Set,
       .summary = "One change of it; 409 and who was first, where the same hold was changed since",
       .query = {{"version", "integer", "The climb's version that the asker saw"},
                 {"to", "string", "Where a stripped climb's holds go: wash or shelf"}},
       .takes = ClimbChange::descriptor(),
       .gives = Climb::descriptor(),
       .answer = change},
      {.method = "GET",
       .path = "/api/v1/climbs/{id}/history",
       .summary = "All that was done to it, oldest first",
       .gives = EventList::descriptor(),
       .answer = history},
  };
}

}  // namespace holdshelf
