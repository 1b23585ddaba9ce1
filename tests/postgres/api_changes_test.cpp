// SPDX-License-Identifier: Apache-2.0
#include <doctest/doctest.h>

#include "catalog/api.h"
#include "catalog/climbs.h"
#include "catalog/console.h"
#include "catalog/gym.h"
#include "catalog/postgres_pool.h"
#include "tests/catalog/climb_night.h"
#include "tests/catalog/environment.h"
#include "tests/catalog/temp_folder.h"
#include "tests/postgres/lost_after_commit.h"
#include "tests/postgres/test_server.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("api changes: what was stored is answered as stored, be the library there then or not") {
  REQUIRE_POSTGRES(server);
  TempFolder folder;
  const Environment state("XDG_STATE_HOME", folder.path().string());
  const std::string address = server->newDatabase();
  Library library = Library::openOrCreate(address);
  Event created;
  created.mutable_created()->set_count(1);
  const std::string hold = library.commit({created}).front().hold();
  Service service(address, "/bin/false");
  // From the commit of the next event on the library can be opened no more.
  borrowConnection(address)->execute(
      "CREATE FUNCTION holdshelf.gets_newer() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
      "UPDATE holdshelf.meta SET value = '999' WHERE key = 'version'; RETURN NULL; END $$;"
      "CREATE TRIGGER gets_newer AFTER INSERT ON holdshelf.event EXECUTE FUNCTION "
      "holdshelf.gets_newer()");
  ApiRequest request;
  request.method = "POST";
  request.path = "/api/v1/holds/" + hold + "/note";
  request.body = R"({"text":"spins"})";
  request.role = Role::Set;
  request.device = "Kim's phone";
  const std::int64_t told = service.events.last();
  const ApiReply reply = answerApi(service, request);
  CAPTURE(reply.body);
  CHECK(reply.status == 200);
  CHECK(reply.body.find("spins") != std::string::npos);
  CHECK(service.events.last() == told + 1);
  CHECK(library.history(hold).size() == 2);
  CHECK_THROWS_AS(service.library(), NewerLibrary);
}

TEST_CASE("api changes: a climb that was changed is answered, be the library read then or not") {
  REQUIRE_POSTGRES(server);
  TempFolder folder;
  const Environment state("XDG_STATE_HOME", folder.path().string());
  const std::string address = server->newDatabase();
  Library library = Library::openOrCreate(address);
  describeGym(library, caveGym());
  const Climb crate = startClimb(library, wanted("yellow 12"));
  Service service(address, "/bin/false");
  loseAfterCommit(address);
  ApiRequest request;
  request.method = "POST";
  request.role = Role::Set;
  request.device = "Kim's phone";
  SUBCASE("changed") {
    request.path = "/api/v1/climbs/" + crate.id() + "/change";
    request.body = R"({"noted":{"text":"spins"}})";
  }
  SUBCASE("begun") {
    request.path = "/api/v1/climbs";
    request.body = R"({"name":"spins","zone":")" + crate.zone() + R"("})";
  }
  SUBCASE("hung on other walls") {
    Gym gym = caveGym();
    gym.set_name("spins");
    request.method = "POST";
    request.path = "/api/v1/gym";
    request.role = Role::Head;
    request.body = toJson(gym);
  }
  const std::int64_t events = library.lastEvent();
  const ApiReply reply = answerApi(service, request);
  CAPTURE(reply.body);
  CHECK(reply.status == 200);
  CHECK(reply.body.find("spins") != std::string::npos);
  CHECK(library.lastEvent() == events + 1);
}
