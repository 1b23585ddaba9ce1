// SPDX-License-Identifier: Apache-2.0
#include "catalog/capture_work.h"

#include <doctest/doctest.h>

#include <atomic>
#include <mutex>
#include <optional>
#include <thread>

#include "catalog/blob_store.h"
#include "catalog/library.h"
#include "catalog/postgres_store.h"
#include "tests/catalog/waiting.h"
#include "tests/postgres/queued_capture.h"
#include "tests/postgres/test_server.h"

using namespace holdshelf;
using namespace holdshelf::test;
using namespace std::chrono_literals;
namespace fs = std::filesystem;

namespace {

/// A worker on a thread of this program, until the queue is empty or the test over.
class WorkThread {
 public:
  WorkThread(const fs::path& address, const fs::path& scratch, const QueueRules& rules)
      : address_(address) {
    options_.program = HOLDSHELF_STAND_IN_REBUILD;
    options_.scratch = scratch;
    options_.worker = "a";
    options_.rules = rules;
    options_.until_empty = true;
    options_.stop = [this] { return stop_.load(); };
    options_.say = [this](const std::string& sentence) {
      const std::lock_guard lock(mutex_);
      said_ += sentence + "\n";
    };
  }
  ~WorkThread() {
    stop_ = true;
    end();
  }
  WorkThread(const WorkThread&) = delete;
  WorkThread& operator=(const WorkThread&) = delete;

  void begin() {
    thread_ = std::thread([this] { workOnQueue(address_, options_); });
  }
  void end() {
    if (thread_.joinable()) thread_.join();
  }
  std::string said() {
    const std::lock_guard lock(mutex_);
    return said_;
  }

 private:
  fs::path address_;
  WorkOptions options_;
  std::atomic<bool> stop_ = false;
  std::mutex mutex_;
  std::string said_;
  std::thread thread_;
};

/// Nobody reads a file of the library until this is let go.
class HeldFiles {
 public:
  explicit HeldFiles(const std::string& address) : connection_(borrowConnection(address)) {
    connection_->execute("BEGIN; LOCK TABLE blob IN ACCESS EXCLUSIVE MODE");
  }
  ~HeldFiles() { connection_->execute("ROLLBACK"); }
  HeldFiles(const HeldFiles&) = delete;
  HeldFiles& operator=(const HeldFiles&) = delete;

 private:
  std::shared_ptr<postgres::Connection> connection_;
};

/// Somebody waits for a lock of this kind in the database.
bool isWaitedFor(const std::string& address, const std::string& kind) {
  return comesTrue([&] {
    return borrowConnection(address)
               ->run(
                   "SELECT count(*) FROM pg_locks WHERE NOT granted AND locktype = $1 AND "
                   "database = (SELECT oid FROM pg_database WHERE datname = current_database())",
                   postgres::Values().add(kind))
               .integer(0, 0) > 0;
  });
}

}  // namespace

TEST_CASE("capture work: the lease is kept from the photos' fetching to the hold's storing") {
  REQUIRE_POSTGRES(server);
  TempFolder folder;
  const std::string address = server->newDatabase();
  Library library = Library::openOrCreate(address);
  const QueueRules rules{600ms, 50ms, 5};
  CaptureQueue queue = queueOf(library, rules);
  const std::int64_t id = queueOne(library, folder, "ledge", "hold chip");
  const auto is_kept = [&] {
    const std::string until = queue.get(id)->ready_at();
    return comesTrue([&] { return queue.get(id)->ready_at() > until; });
  };
  WorkThread worker(address, folder / "w", rules);
  Library other = Library::open(address);
  auto writing = other.store().write();  // Nobody else commits meanwhile.
  {
    const HeldFiles held(address);
    worker.begin();
    REQUIRE(isWaitedFor(address, "relation"));
    CHECK(is_kept());
  }
  REQUIRE(isWaitedFor(address, "advisory"));
  CHECK(is_kept());
  writing.reset();
  worker.end();
  CHECK(library.size() == 1);
  CHECK(queue.get(id)->state() == QueuedCapture::DONE);
  CHECK(queue.get(id)->tries() == 1);
}

TEST_CASE("capture work: who loses a capture while its photos are fetched rebuilds nothing") {
  REQUIRE_POSTGRES(server);
  TempFolder folder;
  const std::string address = server->newDatabase();
  Library library = Library::openOrCreate(address);
  const QueueRules rules{600ms, 50ms, 5};
  CaptureQueue queue = queueOf(library, rules);
  const std::int64_t id = queueOne(library, folder, "ledge", "slow 600 hold chip");
  WorkThread worker(address, folder / "w", rules);
  std::optional<HeldFiles> held(std::in_place, address);
  worker.begin();
  REQUIRE(isWaitedFor(address, "relation"));
  std::optional<QueuedCapture> taken;
  REQUIRE(comesTrue([&] {  // Between two times that it is prolonged.
    passTime(address, 60);
    return (taken = queue.claim("b")).has_value();
  }));
  queue.finish(*taken, {});
  held.reset();
  worker.end();
  CHECK(worker.said().find("Another worker has taken capture") != std::string::npos);
  CHECK(queue.get(id)->worker() == "b");
}

TEST_CASE("capture work: what the files' disk does not take or give now is tried again") {
  REQUIRE_POSTGRES(server);
  TempFolder folder;
  const std::string address = server->newDatabase();
  (void)Library::openOrCreate(address);
  PostgresStore(address).keepFilesIn(folder / "files");
  Library library = Library::open(address);
  const QueueRules rules{60'000ms, 60'000ms, 5};
  CaptureQueue queue = queueOf(library, rules);
  const BlobStore files(folder / "files");
  const fs::path shelf = files.file(sha256Hex("the mesh of chip")).parent_path();
  const fs::path photo = files.file(sha256Hex("hold chip"));
  for (const bool full : {true, false}) {
    CAPTURE(full);
    const std::int64_t id = queueOne(library, folder, "ledge", "hold chip");
    const fs::path& wrong = full ? shelf : photo;
    if (full) {
      REQUIRE_FALSE(fs::exists(shelf));
      writeFileDurably(shelf, "no folder, so that nothing can be put there");
    } else {
      fs::rename(photo, folder / "away");
      fs::create_symlink(photo.filename(), photo);  // Leads to itself, for root as well.
    }
    {
      WorkThread worker(address, folder / "w", rules);
      worker.begin();
      CHECK(comesTrue([&] { return !queue.get(id)->reason().empty(); }));
      CHECK(comesTrue([&] { return !worker.said().empty(); }));
    }
    CHECK(queue.get(id)->state() == QueuedCapture::WAITING);
    CHECK(queue.get(id)->tries() == 1);
    CHECK(queue.get(id)->reason().find(full ? "could not be reached" : "cannot be read") !=
          std::string::npos);
    fs::remove(wrong);
    if (!full) fs::rename(folder / "away", photo);
    passTime(address, 60);
    WorkThread worker(address, folder / "w", rules);
    worker.begin();
    worker.end();
    CHECK(queue.get(id)->state() == QueuedCapture::DONE);
  }
  CHECK(library.size() == 2);
}

TEST_CASE("capture work: a rebuild that met no database says so, and another time may do") {
  REQUIRE_POSTGRES(server);
  TempFolder folder;
  const std::string address = server->newDatabase();
  Library library = Library::openOrCreate(address);
  const std::int64_t id = queueOne(library, folder, "ledge", "away The database is starting up.");
  WorkThread worker(address, folder / "w", {60'000ms, 10ms, 2});
  worker.begin();
  worker.end();
  // Phones read the reason; the database's own words may name its host and user.
  CHECK(queueOf(library).get(id)->reason() ==
        "It failed 2 times: The library could not be reached when it was rebuilt.");
  CHECK(worker.said().find("The database is starting up.") != std::string::npos);
}
