// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <google/protobuf/message.h>

#include <cstdint>
#include <exception>
#include <filesystem>
#include <functional>
#include <map>
#include <optional>
#include <stdexcept>
#include <string>
#include <vector>

#include "catalog/role.h"
#include "catalog/service.h"

namespace holdshelf {

/// A request as the routes see it; nothing here knows of sockets.
struct ApiRequest {
  std::string method, path;                  ///< "GET", "/api/v1/holds/H-0001".
  std::map<std::string, std::string> query;  ///< Decoded.
  std::string body;
  Role role = Role::None;
  std::string device;                        ///< Who is asking, for the history.
  std::string device_id;                     ///< Of a paired device; else empty.
  std::string address;                       ///< Network address that asks.
  std::map<std::string, std::string> place;  ///< What the route's {names} stand for.

  /// What {id} stands for in the path. Only in a route that has it.
  const std::string& id() const { return place.at("id"); }
  /// A parameter of the query, or the fallback.
  std::string text(const std::string& name, const std::string& fallback = "") const;
  /// @throws BadInput  It is there but no number up to a million.
  std::optional<double> number(const std::string& name) const;
  /// @throws BadInput  It is there but no whole number.
  std::optional<std::int64_t> wholeNumber(const std::string& name) const;
};

struct ApiReply {
  int status = 200;
  std::string type = "application/json";
  std::string body = {};
  std::string tag = {};        ///< Changes with the body; empty: never to be kept by the browser.
  std::string file_name = {};  ///< Offered for saving under this name.
  std::string cookie = {};     ///< Set-Cookie, if any.
};

/// The request is turned down with this status and one sentence.
class ApiError : public std::runtime_error {
 public:
  ApiError(int status, const std::string& sentence)
      : std::runtime_error(sentence), status_(status) {}
  int status() const { return status_; }

 private:
  int status_;
};

/// A parameter of a route, as the OpenAPI document names it.
struct ApiParameter {
  std::string name, type, meaning;  ///< type: string, number, integer or boolean.
  bool required = false;
};

/// One thing that can be asked for. The table of routes is what requests are matched against and
/// what the OpenAPI document is made of, so that the two cannot differ.
struct ApiRoute {
  std::string method, path;  ///< Path with {names}.
  Role role = Role::Look;    ///< The least that may.
  std::string summary;
  std::vector<ApiParameter> query = {};
  const google::protobuf::Descriptor* takes = nullptr;  ///< JSON body; nullptr: none.
  const google::protobuf::Descriptor* gives = nullptr;  ///< JSON reply; nullptr: `type`.
  std::string type = "application/json";
  std::string takes_type = {};  ///< Of a body that is no JSON.
  std::function<ApiReply(Service&, const ApiRequest&)> answer = {};
};

/// All routes of version 1.
const std::vector<ApiRoute>& apiRoutes();

/// Answers a request: finds the route, checks the role, runs it. Never throws: what goes wrong
/// becomes a Problem with its status (400 bad input, 401 not paired, 403 not in this role, 404 no
/// such thing, 405 wrong method, 500 ours).
ApiReply answerApi(Service& service, ApiRequest request);

/// What is told of an error that a route met, other than an ApiError. Not where the library is: a
/// phone need not know that, and a database's own words name its host and user.
ApiReply failureReply(const std::filesystem::path& place, const std::exception& error);

/// Compact proto3 JSON.
std::string compactJson(const google::protobuf::Message& message);
ApiReply jsonReply(const google::protobuf::Message& message);
ApiReply problemReply(int status, const std::string& sentence);

/// The scan of a hold that ?scan= names, or the last one. @throws ApiError  404: there is none.
Scan scanOf(const Hold& hold, const ApiRequest& request);

/// A list of compared holds, kept until the library changes. One that left holds out as `unread` is
/// not kept: when their files are back, no event says so.
template <class Work>
ApiReply comparedReply(Service& service, const Library& library, const std::string& question,
                       const Work& work) {
  bool whole = true;
  const auto answer = service.slowAnswer(library, question, [&] {
    const auto list = work();
    whole = list.unread().empty();
    return compactJson(list);
  });
  if (!whole) service.forgetAnswer(library, question);
  return {200, "application/json", *answer};
}

/// The groups of routes, a file each.
std::vector<ApiRoute> libraryRoutes();
std::vector<ApiRoute> holdRoutes();
std::vector<ApiRoute> pictureRoutes();
std::vector<ApiRoute> changeRoutes();
std::vector<ApiRoute> climbRoutes();
std::vector<ApiRoute> climbAdviceRoutes();
std::vector<ApiRoute> deviceRoutes();
std::vector<ApiRoute> intakeRoutes();
std::vector<ApiRoute> labelRoutes();

}  // namespace holdshelf
