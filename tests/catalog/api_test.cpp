// SPDX-License-Identifier: Apache-2.0
#include "catalog/api.h"

#include <doctest/doctest.h>

#include <stdexcept>

#include "catalog/library_store.h"
#include "mesh/bad_input.h"
#include "mesh/unreadable_file.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using holdshelf::test::TempFolder;

namespace {

ApiReply look(Service& service, const std::string& path) {
  ApiRequest request;
  request.method = "GET";
  request.path = path;
  request.role = Role::Look;
  return answerApi(service, request);
}

}  // namespace

TEST_CASE("api: what is refused is told without where the library is") {
  TempFolder folder;
  (void)Library::openOrCreate(folder / "harbour");
  Service service(folder / "harbour", "/bin/true");
  const std::string where = folder.path().string();
  for (const auto& [path, status] :
       {std::pair{"/api/v1/holds/H-0404", 404}, std::pair{"/api/v1/climbs/C-0404", 400}}) {
    CAPTURE(path);
    const ApiReply reply = look(service, path);
    CHECK(reply.status == status);
    CHECK(reply.body.find(where) == std::string::npos);
    CHECK(reply.body.find("0404 in harbour:") != std::string::npos);
  }
  std::filesystem::rename(folder / "harbour", folder / "elsewhere");
  const ApiReply gone = look(service, "/api/v1/holds/H-0001");
  CHECK(gone.status >= 400);
  CHECK(gone.body.find(where) == std::string::npos);
  CHECK(gone.body.find("harbour") != std::string::npos);
  std::filesystem::rename(folder / "elsewhere", folder / "harbour");
}

TEST_CASE("api: a hold whose id has a slash or a blank is found by its address") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  std::vector<Event> events(2);
  for (const char* id : {"A1/3", "b 2%"}) {
    Event& event = events[id[0] == 'b'];
    event.set_hold(id);
    event.mutable_created()->set_count(1);
  }
  library.commit(events);
  Service service(folder / "l", "/bin/true");
  for (const auto& [piece, id] : {std::pair{"A1%2F3", "A1/3"}, {"b%202%25", "b 2%"}}) {
    const ApiReply reply = look(service, std::string("/api/v1/holds/") + piece);
    CHECK(reply.status == 200);
    CHECK(reply.body.find(std::string("\"id\":\"") + id + "\"") != std::string::npos);
  }
  CHECK(look(service, "/api/v1/holds/A1/3").status == 404);
}

TEST_CASE("api: a database's own words, which name its host and user, are not told") {
  const std::filesystem::path place = "postgres://mo@db.example/harbour?sslmode=require";
  const auto said = [&](const std::exception& error) {
    const ApiReply reply = failureReply(place, error);
    for (const char* secret : {"mo@", "db.example", "10.1.2.3", "postgres:"})
      CHECK(reply.body.find(secret) == std::string::npos);
    CHECK(reply.body.find("harbour") != std::string::npos);
    return reply.status;
  };
  CHECK(said(StoreError("connection to server at db.example (10.1.2.3) failed: user mo")) == 500);
  CHECK(said(StoreUnavailable("The library " + place.string() + " cannot be used (user mo).")) ==
        503);
  CHECK(said(BadInput("There is no hold H-0404 in " + place.string() + ": look.")) == 404);
  CHECK(said(std::runtime_error("no room for " + place.string())) == 500);
  // What is wrong with a disk is no secret.
  // What was asked may be answered another time, unlike what is wrong with it.
  CHECK(failureReply("/srv/harbour", UnreadableFile("x cannot be read.")).status == 503);
  CHECK(failureReply("/srv/harbour", StoreUnavailable("x cannot be written.")).status == 503);
  CHECK(failureReply("/srv/harbour", StoreError("disk full")).body.find("disk full") !=
        std::string::npos);
}
