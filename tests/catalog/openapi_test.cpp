// SPDX-License-Identifier: Apache-2.0
#include "catalog/openapi.h"

#include <doctest/doctest.h>
#include <google/protobuf/struct.pb.h>
#include <google/protobuf/util/json_util.h>

#include <algorithm>
#include <set>

using namespace holdshelf;
using google::protobuf::Struct;

TEST_CASE("openapi: the document has every route, and no other") {
  Struct document;
  REQUIRE(
      google::protobuf::util::JsonStringToMessage(openApiDocument(apiRoutes()), &document).ok());
  std::set<std::string> described, served;
  for (const auto& [path, methods] : document.fields().at("paths").struct_value().fields())
    for (const auto& [method, operation] : methods.struct_value().fields()) {
      std::string upper = method;
      std::transform(upper.begin(), upper.end(), upper.begin(),
                     [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
      described.insert(upper + " " + path);
      CHECK(!operation.struct_value().fields().at("summary").string_value().empty());
    }
  for (const ApiRoute& route : apiRoutes()) served.insert(route.method + " " + route.path);
  CHECK(described == served);
  CHECK(served.size() == apiRoutes().size());  // None twice.
}

TEST_CASE("openapi: whatever changes something needs more than looking, and says what it takes") {
  // Questions that are too long for an address are asked with POST and change nothing.
  const std::set<std::string> open = {"/api/v1/find", "/api/v1/pair", "/api/v1/leave"};
  for (const ApiRoute& route : apiRoutes()) {
    CAPTURE(route.path);
    if (route.method == "GET") CHECK(route.takes == nullptr);
    if (route.method == "GET" || open.contains(route.path)) continue;
    CHECK_MESSAGE(route.role >= Role::Set, route.method);
  }
}
