// SPDX-License-Identifier: Apache-2.0
// Routes about holds on their way in.
#include <charconv>

#include "catalog/api.h"
#include "catalog/console.h"
#include "catalog/intake_photos.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

const std::string& shaOf(const ApiRequest& request) { return request.place.at("sha256"); }

Intake wishesOf(const ApiRequest& request) {
  Intake wanted;
  fromJson(request.body, "The intake", wanted);
  return wanted;
}

/// A full disk is no fault of what was sent: 507 (RFC 4918), which may pass.
template <class Take>
auto whereThereIsRoom(const Take& take) {
  try {
    return take();
  } catch (const NoRoom& full) {
    throw ApiError(507, full.what());
  }
}

ApiReply list(Service& service, const ApiRequest&) { return jsonReply(service.desk().list()); }

ApiReply open(Service& service, const ApiRequest& request) {
  return jsonReply(service.desk().open(wishesOf(request), request.device));
}

ApiReply show(Service& service, const ApiRequest& request) {
  return jsonReply(service.desk().get(request.id()));
}

ApiReply change(Service& service, const ApiRequest& request) {
  return jsonReply(service.desk().change(request.id(), wishesOf(request)));
}

ApiReply forget(Service& service, const ApiRequest& request) {
  service.desk().forget(request.id());
  return jsonReply(service.desk().list());
}

ApiReply announce(Service& service, const ApiRequest& request) {
  IntakePhoto photo;
  fromJson(request.body, "The photo", photo);
  return jsonReply(whereThereIsRoom([&] { return service.desk().announce(request.id(), photo); }));
}

ApiReply probe(Service& service, const ApiRequest& request) {
  return jsonReply(service.desk().photo(request.id(), shaOf(request)));
}

ApiReply receive(Service& service, const ApiRequest& request) {
  const std::string text = request.text("offset");
  std::int64_t offset = -1;
  const auto [stop, error] = std::from_chars(text.data(), text.data() + text.size(), offset);
  if (error != std::errc{} || stop != text.data() + text.size() || offset < 0)
    throw BadInput("Say with ?offset= how many bytes come before these.");
  const auto photo = whereThereIsRoom(
      [&] { return service.desk().receive(request.id(), shaOf(request), offset, request.body); });
  if (!photo)
    throw ApiError(409, "The bytes do not go on from where the photo ends so far: ask for it.");
  return jsonReply(*photo);
}

ApiReply removePhoto(Service& service, const ApiRequest& request) {
  service.desk().removePhoto(request.id(), shaOf(request));
  return jsonReply(service.desk().get(request.id()));
}

ApiReply picture(Service& service, const ApiRequest& request) {
  return {200, "image/jpeg", service.desk().picture(request.id(), shaOf(request)),
          shaOf(request) + "-small"};
}

ApiReply start(Service& service, const ApiRequest& request) {
  return jsonReply(service.desk().start(request.id()));
}

ApiReply cancel(Service& service, const ApiRequest& request) {
  return jsonReply(service.desk().cancel(request.id()));
}

ApiReply contactSheet(Service& service, const ApiRequest& request) {
  return {200, "image/png", service.desk().contactSheet(request.id())};
}

ApiReply store(Service& service, const ApiRequest& request) {
  IntakeDecision decision;
  fromJson(request.body, "What it is", decision);
  const Intake stored = service.desk().store(request.id(), decision, request.device);
  service.announce();
  return jsonReply(stored);
}

std::vector<ApiRoute> photoRoutes() {
  const std::string photo = "/api/v1/intakes/{id}/photos/{sha256}";
  return {
      {.method = "POST",
       .path = "/api/v1/intakes/{id}/photos",
       .role = Role::Log,
       .summary = "Say that a photo will come: its SHA-256, name and size. Says how much is here",
       .takes = IntakePhoto::descriptor(),
       .gives = IntakePhoto::descriptor(),
       .answer = announce},
      {.method = "GET",
       .path = photo,
       .role = Role::Log,
       .summary = "How much of it is here, and what it shows",
       .gives = IntakePhoto::descriptor(),
       .answer = probe},
      {.method = "PUT",
       .path = photo,
       .role = Role::Log,
       .summary = "The next piece, up to 8 MB; 409: it goes on elsewhere, ask where",
       .query = {{"offset", "integer", "Bytes before it", true}},
       .gives = IntakePhoto::descriptor(),
       .takes_type = "application/octet-stream",
       .answer = receive},
      {.method = "DELETE",
       .path = photo,
       .role = Role::Log,
       .summary = "Throw one photo away",
       .gives = Intake::descriptor(),
       .answer = removePhoto},
      {.method = "GET",
       .path = photo + "/picture",
       .role = Role::Log,
       .summary = "The photo, small",
       .type = "image/jpeg",
       .answer = picture},
  };
}

std::vector<ApiRoute> jobRoutes() {
  const std::string intake = "/api/v1/intakes/{id}";
  return {
      {.method = "POST",
       .path = intake + "/start",
       .role = Role::Log,
       .summary = "Rebuild it, when its turn comes; events tell how far it is",
       .gives = Intake::descriptor(),
       .answer = start},
      {.method = "POST",
       .path = intake + "/cancel",
       .role = Role::Log,
       .summary = "Stop the rebuild; the photos stay",
       .gives = Intake::descriptor(),
       .answer = cancel},
      {.method = "GET",
       .path = intake + "/contact-sheet",
       .role = Role::Log,
       .summary = "What was rebuilt, over the photos",
       .type = "image/png",
       .answer = contactSheet},
      {.method = "POST",
       .path = intake + "/store",
       .role = Role::Log,
       .summary = "Put it in the library as a new hold, a new scan, or one more of a lot",
       .takes = IntakeDecision::descriptor(),
       .gives = Intake::descriptor(),
       .answer = store},
  };
}

}  // namespace

std::vector<ApiRoute> intakeRoutes() {
  const std::string intake = "/api/v1/intakes/{id}";
  std::vector<ApiRoute> routes = {
      {.method = "GET",
       .path = "/api/v1/intakes",
       .role = Role::Log,
       .summary = "Holds on their way in, without photos and results",
       .gives = IntakeList::descriptor(),
       .answer = list},
      {.method = "POST",
       .path = "/api/v1/intakes",
       .role = Role::Log,
       .summary = "Begin one: labels, mat (or paper) and quality are read",
       .takes = Intake::descriptor(),
       .gives = Intake::descriptor(),
       .answer = open},
      {.method = "GET",
       .path = intake,
       .role = Role::Log,
       .summary = "All of one",
       .gives = Intake::descriptor(),
       .answer = show},
      {.method = "POST",
       .path = intake,
       .role = Role::Log,
       .summary = "Change its labels, mat and quality",
       .takes = Intake::descriptor(),
       .gives = Intake::descriptor(),
       .answer = change},
      {.method = "DELETE",
       .path = intake,
       .role = Role::Log,
       .summary = "Throw it away; what was stored stays in the library",
       .gives = IntakeList::descriptor(),
       .answer = forget},
  };
  for (auto* group : {photoRoutes, jobRoutes})
    for (ApiRoute& route : group()) routes.push_back(std::move(route));
  return routes;
}

}  // namespace holdshelf
