// SPDX-License-Identifier: Apache-2.0
#include "catalog/queued_rebuild.h"

#include <doctest/doctest.h>

#include <atomic>
#include <future>
#include <mutex>

#include "catalog/capture_queue.h"
#include "catalog/finished_files.h"
#include "tests/catalog/waiting.h"
#include "tests/postgres/queued_capture.h"
#include "tests/postgres/test_server.h"

using namespace holdshelf;
using namespace holdshelf::test;
using namespace std::chrono_literals;
namespace fs = std::filesystem;

namespace {

constexpr const char* kWaiting = "waiting for a free machine";
constexpr const char* kAway = "waiting for the database";

/// An intake desk that waits on a thread of its own for what another machine rebuilds.
class WaitingDesk {
 public:
  explicit WaitingDesk(const fs::path& address) : address_(address) {
    fs::create_directories(at());
    std::ofstream(at() / "photo-01.jpg") << "hold chip";
    IntakePhoto& photo = *intake_.add_photos();
    photo.set_label("photo-01.jpg");
    photo.set_sha256(sha256Hex("hold chip"));
    ended_ = std::async(std::launch::async, [this] {
      awaitRebuild(address_, at(), intake_, [this](const std::string& step, double) {
        const std::lock_guard lock(mutex_);
        steps_ += step + "\n";
        return !stop_;
      });
    });
  }
  ~WaitingDesk() { stop_ = true; }  // Its thread is waited for with ended_.
  WaitingDesk(const WaitingDesk&) = delete;
  WaitingDesk& operator=(const WaitingDesk&) = delete;

  fs::path at() const { return folder_ / "intake"; }
  bool hasSaid(const std::string& step) {
    return comesTrue([&] { return said().find(step) != std::string::npos; });
  }
  std::string said() {
    const std::lock_guard lock(mutex_);
    return steps_;
  }
  void stop() { stop_ = true; }
  /// Throws what the desk was thrown; Interrupted where it goes on waiting for too long.
  void end() {
    if (ended_.wait_for(30s) != std::future_status::ready) stop_ = true;
    ended_.get();
  }

 private:
  TempFolder folder_;
  fs::path address_;
  Intake intake_;
  std::atomic<bool> stop_ = false;
  std::mutex mutex_;
  std::string steps_;
  std::future<void> ended_;  // Last: its thread uses what is above.
};

/// Does as a worker does that has rebuilt it.
void finishOne(const std::string& address) {
  TempFolder folder;
  ReadyScan ready;
  ready.finished.mesh_ply = "a mesh";
  ready.finished.mesh_glb = "its view";
  ready.finished.contact_sheet_png = "its photos";
  ready.finished.thumbnail_png = "its picture";
  writeFinished(folder.path(), ready);
  Library library = Library::open(address);
  CaptureQueue queue = queueOf(library);
  RebuiltCapture result;
  for (const std::string& name : finishedNames())
    (*result.mutable_files())[name] = library.blobs().put(readFile(folder / name));
  queue.finish(queue.claim("a").value(), result);
}

int countQueued(const std::string& address) {
  return CaptureQueue(borrowConnection(address)).list(true).captures_size();
}

}  // namespace

TEST_CASE("queued rebuild: what was rebuilt elsewhere lies in the folder as if it were from here") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase();
  (void)Library::openOrCreate(address);
  WaitingDesk desk(address);
  REQUIRE(desk.hasSaid(kWaiting));
  finishOne(address);
  desk.end();
  CHECK(readFinished(desk.at()).finished.mesh_ply == "a mesh");
}

TEST_CASE("queued rebuild: a database that is restarted is waited for, and the same capture then") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase();
  (void)Library::openOrCreate(address);
  WaitingDesk desk(address);
  REQUIRE(desk.hasSaid(kWaiting));
  server->restart();
  CHECK(desk.hasSaid(kAway));
  finishOne(address);
  CHECK_NOTHROW(desk.end());
  CHECK(hasFinished(desk.at()));
  CHECK(countQueued(address) == 1);
}

TEST_CASE("queued rebuild: set aside while the connection was lost, it says why and is not begun") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase();
  (void)Library::openOrCreate(address);
  WaitingDesk desk(address);
  REQUIRE(desk.hasSaid(kWaiting));
  borrowConnection(address)->execute(
      "UPDATE capture SET state = 4, reason = 'All photos are blurred.';"
      "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = current_database() "
      "AND pid <> pg_backend_pid()");
  CHECK_THROWS_WITH_AS(desk.end(), "All photos are blurred.", BadInput);
  CHECK(countQueued(address) == 1);
}

TEST_CASE("queued rebuild: a database that is away from the start is waited for until one stops") {
  WaitingDesk desk("postgres://tester@127.0.0.1:1/gym");  // Nobody listens there.
  CHECK(desk.hasSaid(kAway));
  desk.stop();
  CHECK_THROWS_AS(desk.end(), Interrupted);
}

TEST_CASE("queued rebuild: a database that is there and refuses is not waited for without end") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase();
  (void)Library::openOrCreate(address);
  borrowConnection(address)->execute("ALTER TABLE capture RENAME TO not_for_us");
  WaitingDesk desk(address);
  CHECK_THROWS_WITH_AS(desk.end(),
                       doctest::Contains("(relation \"capture\" does not exist): ask whoever"),
                       BadInput);
}
