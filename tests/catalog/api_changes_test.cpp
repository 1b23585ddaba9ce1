// SPDX-License-Identifier: Apache-2.0
#include <doctest/doctest.h>

#include "catalog/api.h"
#include "catalog/foreign_event.h"
#include "tests/catalog/climb_night.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("changes of a hold: it is mounted at angles") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  addHold(library, "H-0001", "A1");
  Service service(folder / "l", "/bin/true");
  const auto move = [&](const std::string& mounting) {
    ApiRequest request;
    request.method = "POST";
    request.path = "/api/v1/holds/H-0001/move";
    request.body = R"({"status": "WALL", )" + mounting + "}";
    request.role = Role::Set;
    return answerApi(service, request).status;
  };
  for (const char* mounting : {R"("rotationDeg": "NaN")", R"("rotationDeg": 1e308)",
                               R"("wallAngleDeg": "Infinity")", R"("wallAngleDeg": -91)"})
    CHECK(move(mounting) == 400);
  CHECK(move(R"("rotationDeg": 270, "wallAngleDeg": 35)") == 200);
  CHECK(library.hold("H-0001").rotation_deg() == 270);
}

TEST_CASE("changes of a hold: what could not be taken to another library is not stored") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  addHold(library, "H-0001", "A1");
  Service service(folder / "l", "/bin/true");
  const auto ask = [&](const std::string& what, const std::string& body) {
    ApiRequest request;
    request.method = "POST";
    request.path = "/api/v1/holds/H-0001/" + what;
    request.body = body;
    request.role = Role::Head;
    return answerApi(service, request).status;
  };
  const std::int64_t before = library.lastEvent();
  CHECK(ask("move", R"({"status": 77})") == 400);
  CHECK(library.lastEvent() == before);
  CHECK(ask("edit", R"({"fields": ["name"], "name": "x", "count": -5})") == 200);
  library.forEachEvent([](const Event& event) { CHECK(untruthIn(event).empty()); });
}
