// SPDX-License-Identifier: Apache-2.0
#include "catalog/api.h"

#include <google/protobuf/util/json_util.h>

#include <charconv>
#include <cmath>

#include "catalog/library_place.h"
#include "catalog/library_store.h"
#include "catalog/openapi.h"
#include "catalog/percent_encoding.h"
#include "mesh/bad_input.h"
#include "mesh/unreadable_file.h"
#include "proto/server.pb.h"

namespace holdshelf {
namespace {

/// Cut first and decoded then, as an id may have a slash.
std::vector<std::string> pieces(const std::string& path) {
  std::vector<std::string> out;
  std::size_t start = 1;
  while (start <= path.size()) {
    const std::size_t end = std::min(path.find('/', start), path.size());
    out.push_back(percentDecoded(std::string_view(path).substr(start, end - start)));
    start = end + 1;
  }
  return out;
}

/// What the {names} of the route stand for, or nullopt when the path is another.
/// @param given  Pieces of the path: cut once, as it may have thousands and routes are many.
std::optional<std::map<std::string, std::string>> matchPath(const std::string& route,
                                                            const std::vector<std::string>& given) {
  const std::vector<std::string> wanted = pieces(route);
  if (wanted.size() != given.size()) return std::nullopt;
  std::map<std::string, std::string> place;
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    if (wanted[i].starts_with('{') && !given[i].empty())
      place[wanted[i].substr(1, wanted[i].size() - 2)] = given[i];
    else if (wanted[i] != given[i])
      return std::nullopt;
  }
  return place;
}

void checkRole(const ApiRoute& route, Role role) {
  if (role >= route.role) return;
  if (role == Role::None)
    throw ApiError(401, "This device is not paired: ask for a code at the gym's computer.");
  throw ApiError(403, "This device may " + roleWord(role) + " only, and this needs the role " +
                          roleWord(route.role) + ": ask the head setter.");
}

ApiReply answerRoute(Service& service, ApiRequest& request) {
  bool other_method = false;
  const std::vector<std::string> given = pieces(request.path);
  for (const ApiRoute& route : apiRoutes()) {
    auto place = matchPath(route.path, given);
    if (!place) continue;
    if (route.method != request.method) {
      other_method = true;
      continue;
    }
    checkRole(route, request.role);
    request.place = std::move(*place);
    return route.answer(service, request);
  }
  if (other_method)
    throw ApiError(405, request.path + " cannot be asked with " + request.method +
                            ": see /api/v1/openapi.json.");
  throw ApiError(404, "There is nothing at this address: see /api/v1/openapi.json.");
}

[[noreturn]] void refuseNumber(const std::string& given, const std::string& name) {
  throw BadInput("\"" + given.substr(0, 40) + "\" is no number for " + name + ".");
}

template <class Number>
std::optional<Number> numberIn(const std::string& given, const std::string& name) {
  if (given.empty()) return std::nullopt;
  Number value = 0;
  const char* end = given.data() + given.size();
  const auto [stop, error] = std::from_chars(given.data(), end, value);
  if (error != std::errc{} || stop != end) refuseNumber(given, name);
  return value;
}

ApiRoute openApiRoute() {
  ApiRoute route{"GET", "/api/v1/openapi.json", Role::None, "This document"};
  route.answer = [](Service&, const ApiRequest&) {
    static const std::string document = openApiDocument(apiRoutes());
    return ApiReply{200, "application/json", document};
  };
  return route;
}

}  // namespace

std::string ApiRequest::text(const std::string& name, const std::string& fallback) const {
  const auto found = query.find(name);
  return found == query.end() ? fallback : found->second;
}

std::optional<double> ApiRequest::number(const std::string& name) const {
  const auto value = numberIn<double>(text(name), name);
  if (value && (!std::isfinite(*value) || std::abs(*value) > 1e6)) refuseNumber(text(name), name);
  return value;
}

std::optional<std::int64_t> ApiRequest::wholeNumber(const std::string& name) const {
  return numberIn<std::int64_t>(text(name), name);
}

const std::vector<ApiRoute>& apiRoutes() {
  static const std::vector<ApiRoute> routes = [] {
    std::vector<ApiRoute> all = {openApiRoute()};
    for (auto* group : {libraryRoutes, holdRoutes, pictureRoutes, changeRoutes, climbRoutes,
                        climbAdviceRoutes, deviceRoutes, intakeRoutes, labelRoutes})
      for (ApiRoute& route : group()) all.push_back(std::move(route));
    return all;
  }();
  return routes;
}

ApiReply answerApi(Service& service, ApiRequest request) {
  try {
    return answerRoute(service, request);
  } catch (const ApiError& error) {
    return problemReply(error.status(), error.what());
  } catch (const std::exception& error) {
    return failureReply(service.folder(), error);
  }
}

ApiReply failureReply(const std::filesystem::path& place, const std::exception& error) {
  const bool refused = dynamic_cast<const BadInput*>(&error) != nullptr;
  const bool of_store = dynamic_cast<const StoreError*>(&error) != nullptr ||
                        dynamic_cast<const StoreUnavailable*>(&error) != nullptr;
  if (of_store && isDatabaseAddress(place))
    return problemReply(refused ? 503 : 500, "The library " + placeName(place) +
                                                 " cannot be used just now: try again, or run "
                                                 "holdshelf check on the gym's computer.");
  // The only one who stops an answer (Service::untilTheEnd).
  if (dynamic_cast<const Interrupted*>(&error) != nullptr)
    return problemReply(503, "The server is being ended: ask again once it runs.");
  const std::string words = withoutPlace(error.what(), place);
  // Nothing is wrong with what was asked, and it may be answered another time.
  if (dynamic_cast<const UnreadableFile*>(&error) != nullptr ||
      dynamic_cast<const StoreUnavailable*>(&error) != nullptr)
    return problemReply(503, words);
  if (refused) return problemReply(words.starts_with("There is no hold") ? 404 : 400, words);
  return problemReply(500, "Something went wrong on the gym's computer (" + words +
                               "): try again, or run holdshelf check there.");
}

std::string compactJson(const google::protobuf::Message& message) {
  std::string json;
  if (!google::protobuf::util::MessageToJsonString(message, &json).ok())
    throw std::logic_error("a message has no JSON form");
  return json;
}

ApiReply jsonReply(const google::protobuf::Message& message) {
  return {200, "application/json", compactJson(message)};
}

ApiReply problemReply(int status, const std::string& sentence) {
  Problem problem;
  problem.set_sentence(sentence);
  ApiReply reply = jsonReply(problem);
  reply.status = status;
  return reply;
}

}  // namespace holdshelf
