// SPDX-License-Identifier: Apache-2.0
#include "catalog/lease_keeper.h"

#include <doctest/doctest.h>

#include <atomic>

#include "catalog/library.h"
#include "tests/catalog/waiting.h"
#include "tests/postgres/queued_capture.h"
#include "tests/postgres/test_server.h"

using namespace holdshelf;
using namespace holdshelf::test;
using namespace std::chrono_literals;

namespace {

constexpr QueueRules kRules{300ms, 50ms, 5};

/// A capture that "a" has claimed, and what its keeper was asked and does.
struct Claimed {
  TempFolder folder;
  std::string address;
  QueuedCapture capture;
  std::atomic<bool> stop = false;
  std::atomic<int> ends = 0;

  explicit Claimed(TestServer& server) : address(server.newDatabase()) {
    Library library = Library::openOrCreate(address);
    queueOne(library, folder, "ledge", "x");
    capture = queue().claim("a").value();
    // A claim does not wait for the disk: what does takes it along, so that no restart forgets it.
    borrowConnection(address)->run("UPDATE capture SET reason = reason");
  }
  CaptureQueue queue() const { return CaptureQueue(borrowConnection(address), kRules); }
  LeaseKeeper keeper() {
    return {address, capture, kRules, [this] { return stop.load(); }, [this] { ++ends; }};
  }
  /// Whether the lease gets longer.
  bool isKept() const {
    const std::string until = queue().get(capture.id())->ready_at();
    return comesTrue([&] { return queue().get(capture.id())->ready_at() > until; });
  }
  /// Another worker takes it, which has to come between two times that it is prolonged.
  bool isTaken() const {
    return comesTrue([&] {
      passTime(address, 60);
      return queue().claim("b").has_value();
    });
  }
};

}  // namespace

TEST_CASE("lease keeper: a lease lasts while it is kept, and no longer") {
  REQUIRE_POSTGRES(server);
  Claimed claimed(*server);
  {
    const LeaseKeeper keeper = claimed.keeper();
    for (int i = 0; i < 3; ++i) CHECK(claimed.isKept());
    CHECK_FALSE(keeper.lost());
    CHECK_FALSE(keeper.stopped());
    CHECK(claimed.ends == 0);
  }
  CHECK(comesTrue([&] { return claimed.queue().claim("b").has_value(); }));
}

TEST_CASE("lease keeper: whose capture another one has taken ends the work, again and again") {
  REQUIRE_POSTGRES(server);
  Claimed claimed(*server);
  const LeaseKeeper keeper = claimed.keeper();
  REQUIRE(claimed.isTaken());
  CHECK(comesTrue([&] { return keeper.lost() && claimed.ends >= 3; }));
  CHECK_FALSE(keeper.stopped());
  CHECK(claimed.queue().get(claimed.capture.id())->worker() == "b");
}

TEST_CASE("lease keeper: told to stop it ends the work, and keeps the lease until that has ended") {
  REQUIRE_POSTGRES(server);
  Claimed claimed(*server);
  const LeaseKeeper keeper = claimed.keeper();
  claimed.stop = true;
  CHECK(comesTrue([&] { return keeper.stopped() && claimed.ends >= 3; }));
  CHECK_FALSE(keeper.lost());
  CHECK(claimed.isKept());
}

TEST_CASE("lease keeper: a database that was restarted is asked again, and the work goes on") {
  REQUIRE_POSTGRES(server);
  Claimed claimed(*server);
  const LeaseKeeper keeper = claimed.keeper();
  server->restart();
  CHECK(claimed.isKept());
  CHECK_FALSE(keeper.lost());
  CHECK(claimed.ends == 0);
}
