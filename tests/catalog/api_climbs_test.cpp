// SPDX-License-Identifier: Apache-2.0
// The routes of a setter's night, asked as a phone asks.
#include <doctest/doctest.h>

#include <chrono>
#include <future>
#include <thread>

#include "catalog/api.h"
#include "catalog/console.h"
#include "proto/server.pb.h"
#include "tests/catalog/climb_night.h"
#include "tests/catalog/run_program.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

struct Phone {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  Service service{folder / "l", "/bin/true"};

  Phone() {
    describeGym(library, caveGym());
    for (const char* id : {"H-0001", "H-0002"}) addHold(library, id, "A1");
    startClimb(library, wanted("yellow 12"));
  }
  ApiReply post(const std::string& path, const std::string& body,
                const std::map<std::string, std::string>& query = {}) {
    ApiRequest request;
    request.query = query;
    request.method = "POST";
    request.path = "/api/v1/" + path;
    request.body = body;
    request.role = Role::Set;
    request.device = "a phone";
    return answerApi(service, request);
  }
  ApiReply change(const std::string& body) { return post("climbs/C-0001/change", body); }
  ApiReply changeSeen(const std::string& version, const std::string& body) {
    return post("climbs/C-0001/change", body, {{"version", version}});
  }
  /// That it is turned down with one sentence.
  bool refuses(const ApiReply& reply) {
    Problem problem;
    fromJson(reply.body, "The reply", problem);
    return reply.status == 400 && isOneSentence(problem.sentence() + "\n");
  }
};

}  // namespace

TEST_CASE("a climb's routes: the version that was seen is a whole number of any size") {
  Phone phone;
  const std::string note = R"({"noted": {"text": "warm up"}})";
  CHECK(phone.changeSeen("9007199254740993", note).status == 200);  // 2^53 + 1: no double has it.
  for (const char* wrong : {"1.5", "nan", "9223372036854775808", "x"})
    CHECK(phone.refuses(phone.changeSeen(wrong, note)));
  const std::string add = R"({"added": {"hold": "H-0001"}})";
  CHECK(phone.changeSeen("0", R"({"dropped": "H-0001"})").status == 400);
  CHECK(phone.change(add).status == 200);
  CHECK(phone.changeSeen("0", R"({"dropped": "H-0001"})").status == 409);
}

TEST_CASE("a climb's routes: a hold that is added brings its wish and its use along, no more") {
  Phone phone;
  const ApiReply reply = phone.change(
      R"({"added": {"hold": "H-0001", "wish": "incut crimp", "foot": true, "bolt": "M10 × 55",
          "gone": "never", "splitFrom": "H-0002", "name": "x", "formerBolt": "y",
          "placement": {"panel": "none", "column": 77, "row": 77, "rotationDeg": "NaN"}}})");
  REQUIRE(reply.status == 200);
  Climb climb;
  fromJson(reply.body, "The reply", climb);
  ClimbHold expected;
  expected.set_hold("H-0001");
  expected.set_name("hold H-0001");
  expected.set_wish("incut crimp");
  expected.set_foot(true);
  REQUIRE(climb.holds_size() == 1);
  CHECK(climb.holds(0).SerializeAsString() == expected.SerializeAsString());
}

TEST_CASE("a climb's routes: holds are turned by angles") {
  Phone phone;
  REQUIRE(phone.change(R"({"added": {"hold": "H-0001"}})").status == 200);
  for (const std::string no_angle : {R"("NaN")", R"("Infinity")", "1e308", "-361"}) {
    CAPTURE(no_angle);
    CHECK(phone.refuses(
        phone.change(R"({"placed": {"hold": "H-0001", "placement": {"column": 1, "row": 1,
                         "rotationDeg": )" +
                     no_angle + "}}}")));
    CHECK(phone.refuses(
        phone.change(R"({"swapped": {"out": "H-0001", "in": {"hold": "H-0002", "placement": {
                         "rotationDeg": )" +
                     no_angle + "}}}}")));
  }
  CHECK(phone
            .change(R"({"placed": {"hold": "H-0001", "placement": {"column": 1, "row": 1,
                         "rotationDeg": 355}}})")
            .status == 200);
}

TEST_CASE("a climb's routes: what is written is cleaned, and has an end") {
  Phone phone;
  const ApiReply started =
      phone.post("climbs", R"({"name": "blue\u001b[2J 3", "zone": "cave", "grade": "6\u009bb"})");
  REQUIRE(started.status == 200);
  Climb climb;
  fromJson(started.body, "The reply", climb);
  CHECK(climb.name() == "blue[2J 3");
  CHECK(climb.grade() == "6b");
  const std::string long_text(5000, 'x');
  CHECK(phone.refuses(phone.post("climbs", R"({"zone": "cave", "name": ")" + long_text + "\"}")));
  REQUIRE(phone.change(R"({"added": {"hold": "H-0001"}})").status == 200);
  for (const std::string kind : {R"("bolted": {"hold": "H-0001", "bolt")", R"("noted": {"text")",
                                 R"("dismissed": {"hold": "H-0001", "check": "place", "reason")"}) {
    CAPTURE(kind);
    CHECK(phone.refuses(phone.change("{" + kind + ": \"" + long_text + "\"}}")));
  }
  CHECK(phone.refuses(phone.change(R"({"bolted": {"hold": "H-0001", "bolt": "M10x5)" +
                                   std::string(7800, ' ') + "!\"}}")));
}

TEST_CASE("a climb's routes: who was first is looked at in the commit, also of two servers") {
  Phone phone;
  REQUIRE(phone.change(R"({"added": {"hold": "H-0001"}})").status == 200);
  const std::int64_t seen = climbOf(phone.library, "C-0001").version();
  const std::string other_bolt = R"({"bolted": {"hold": "H-0001", "bolt": "M10 × 40"}})";
  std::future<ApiReply> waiting;
  const auto boltFirst = [&] {
    // Somebody else's commit, which the phone's has to wait for when all else is done.
    waiting = std::async(std::launch::async,
                         [&] { return phone.changeSeen(std::to_string(seen), other_bolt); });
    std::this_thread::sleep_for(std::chrono::milliseconds(500));
    ClimbChange change;
    change.mutable_bolted()->set_hold("H-0001");
    change.mutable_bolted()->set_bolt("M10 × 55");
    Event event;
    event.set_subject("climb/C-0001");
    event.set_who("Maren");
    *event.mutable_climb() = change;
    return std::vector<Event>{event};
  };
  phone.library.commitMade(boltFirst);
  const ApiReply reply = waiting.get();
  CHECK(reply.status == 409);
  CHECK(reply.body.find("Maren was first") != std::string::npos);
  CHECK(climbOf(phone.library, "C-0001").holds(0).bolt() == "M10 × 55");
}

TEST_CASE("a climb's routes: checks of wear are set aside by few at a time, all else meanwhile") {
  Phone phone;
  REQUIRE(phone.change(R"({"added": {"hold": "H-0001"}})").status == 200);
  const std::string worn =
      R"({"dismissed": {"hold": "H-0001", "check": "worn", "reason": "known"}})";
  {
    std::vector<Service::SlowSeat> taken;
    for (int i = 0; i < 8; ++i) taken.push_back(phone.service.takeSlowSeat());
    CHECK(phone.change(worn).status == 503);
    CHECK(phone.change(R"({"dismissed": {"hold": "H-0001", "check": "place", "reason": "soon"}})")
              .status == 200);
    CHECK(phone.change(R"({"noted": {"text": "warm up"}})").status == 200);
  }
  CHECK(phone.refuses(phone.change(worn)));  // It is not worn.
  phone.service.events.close();
  CHECK(phone.change(worn).status == 503);
}
