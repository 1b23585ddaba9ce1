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
void checkVersion(const std::vector<Event>& so_far, std::int64_t version,
                  const ClimbChange& wanted) {
  for (const Event& event : so_far)
    if (event.number() > version && disturbs(event.climb(), wanted))
      throw ApiError(409, event.who() + " was first: " + climbChangeText(event.climb()) +
                              ". Look at it as it is now, then decide again.");
}

/// Scans are compared for a check of wear: seconds, in which no more than a few may wait.
Climb dismiss(Service& service, Library& library, const std::string& id, const Dismissal& wanted,
              const ClimbAllowed& allowed) {
  Service::SlowSeat seat;
  if (wanted.check() == "worn") seat = service.takeSlowSeat();
  return dismissCheck(library, id, wanted.check(), wanted.hold(), wanted.reason(),
                      service.untilTheEnd(), allowed);
}

Climb apply(Service& service, Library& library, const std::string& id, const ClimbChange& change,
            const std::string& to, const ClimbAllowed& allowed) {
  switch (change.what_case()) {
    case ClimbChange::kAdded:
      if (change.added().pieces() > 0)
        return addPieces(library, id, {change.added().hold()}, change.added().pieces(),
                         change.added(), allowed);
      return addHolds(library, id, {change.added().hold()}, change.added(), allowed);
    case ClimbChange::kDropped:
      return dropHolds(library, id, {change.dropped()}, allowed);
    case ClimbChange::kSwapped:
      return swapHold(library, id, change.swapped().out(), change.swapped().in().hold(),
                      change.swapped().in().placement().rotation_deg(), allowed);
    case ClimbChange::kPlaced:
      return placeHold(library, id, change.placed().hold(), change.placed().placement(), allowed);
    case ClimbChange::kBolted:
      return recordBolt(library, id, change.bolted().hold(), change.bolted().bolt(), allowed);
    case ClimbChange::kUsedAs:
      return useAs(library, id, change.used_as().hold(), change.used_as().foot(), allowed);
    case ClimbChange::kNoted:
      return noteClimb(library, id, change.noted().hold(), change.noted().text(), allowed);
    case ClimbChange::kDismissed:
      return dismiss(service, library, id, change.dismissed(), allowed);
    case ClimbChange::kOpened:
      return openClimb(library, id, allowed);
    case ClimbChange::kStripped:
      return stripClimb(library, id, to, allowed).climb();
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
  // Inside the commit: no other device comes in between the look and the change, whichever server
  // or program it asks.
  ClimbAllowed allowed;
  if (const auto version = request.wholeNumber("version"))
    allowed = [&wanted, seen = *version](const std::vector<Event>& so_far) {
      checkVersion(so_far, seen, wanted);
    };
  const Climb changed =
      apply(service, library, request.id(), wanted, request.text("to", "wash"), allowed);
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
