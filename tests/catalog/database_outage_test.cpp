// SPDX-License-Identifier: Apache-2.0
#include "catalog/database_outage.h"

#include <doctest/doctest.h>

#include "catalog/library_store.h"

using namespace holdshelf;

TEST_CASE("database outage: the work is begun anew until it is done, and it is said why") {
  int times = 0;
  std::vector<std::string> said;
  CHECK(doThroughOutages(
      [&](const auto& reached) {
        reached();
        if (++times == 1) throw StoreUnavailable("It is starting up.");
        if (times == 2) throw StoreError("connection lost");
      },
      [&](const std::string& why) { said.push_back(why); }, {}));
  CHECK(times == 3);
  CHECK(said == std::vector<std::string>{"It is starting up.", "connection lost"});
}

TEST_CASE("database outage: it ends where somebody stops, and where something else is wrong") {
  int times = 0;
  const auto fail = [&](const auto&) {
    ++times;
    throw StoreError("connection lost");
  };
  const auto mind = [](const std::string&) {};
  CHECK_FALSE(doThroughOutages(fail, mind, [] { return true; }));
  CHECK(times == 1);
  CHECK_THROWS_WITH_AS(
      doThroughOutages([](const auto&) { throw BadInput("There is no library."); }, mind, {}),
      "There is no library.", BadInput);
  CHECK_THROWS_WITH_AS(
      doThroughOutages(fail, [](const std::string& why) { throw BadInput(why); }, {}),
      "connection lost", BadInput);
}
