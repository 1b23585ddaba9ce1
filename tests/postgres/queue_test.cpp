// SPDX-License-Identifier: Apache-2.0
// The queue of rebuilds: what is queued becomes one hold each, whatever happens to the workers.
#include <doctest/doctest.h>
#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <fstream>
#include <map>
#include <mutex>
#include <thread>

#include "catalog/capture_queue.h"
#include "catalog/finished_files.h"
#include "catalog/library_check.h"
#include "catalog/postgres_pool.h"
#include "catalog/postgres_store.h"
#include "catalog/queued_rebuild.h"
#include "tests/catalog/run_program.h"
#include "tests/postgres/queued_capture.h"
#include "tests/postgres/test_server.h"

using namespace holdshelf;
using namespace holdshelf::test;
using namespace std::chrono_literals;
namespace fs = std::filesystem;

extern char** environ;

namespace {

/// A `holdshelf work` process.
class WorkProcess {
 public:
  WorkProcess(const std::string& address, const fs::path& scratch) {
    std::vector<std::string> words = {
        HOLDSHELF_PROGRAM, "work",  "--library",      address,
        "--scratch",       scratch, "--lease",        "2.5",
        "--pause",         "0.05",  "--rebuild-with", HOLDSHELF_STAND_IN_REBUILD};
    std::vector<char*> argv;
    for (std::string& word : words) argv.push_back(word.data());
    argv.push_back(nullptr);
    posix_spawn_file_actions_t files;
    posix_spawn_file_actions_init(&files);
    const std::string log = (scratch.string() + ".log");
    posix_spawn_file_actions_addopen(&files, 1, log.c_str(), O_WRONLY | O_CREAT | O_APPEND, 0644);
    posix_spawn_file_actions_adddup2(&files, 1, 2);
    posix_spawn(&pid_, HOLDSHELF_PROGRAM, &files, nullptr, argv.data(), environ);
    posix_spawn_file_actions_destroy(&files);
  }
  ~WorkProcess() { end(SIGKILL); }
  WorkProcess(const WorkProcess&) = delete;
  WorkProcess& operator=(const WorkProcess&) = delete;

  void signal(int number) const { ::kill(pid_, number); }
  /// Its status as waitpid gives it: 0 when it ended well.
  int end(int number) {
    if (pid_ == 0) return -1;
    ::kill(pid_, SIGCONT);
    ::kill(pid_, number);
    int status = 0;
    ::waitpid(pid_, &status, 0);
    pid_ = 0;
    return status;
  }
  std::string name() const { return std::to_string(pid_); }
  pid_t pid() const { return pid_; }

 private:
  pid_t pid_ = 0;
};

/// Holds by name, with how many there are of each.
std::map<std::string, int> holdsByName(const Library& library) {
  std::map<std::string, int> names;
  library.forEachHold([&](std::int64_t, const Hold& hold) { ++names[hold.name()]; });
  return names;
}

bool waitUntil(const std::function<bool()>& true_now, std::chrono::seconds longest) {
  const auto until = std::chrono::steady_clock::now() + longest;
  while (std::chrono::steady_clock::now() < until) {
    try {
      if (true_now()) return true;
    } catch (const std::exception&) {  // The server is being restarted.
    }
    std::this_thread::sleep_for(50ms);
  }
  return false;
}

/// A queue of two captures, the first of which is damaged.
struct DamagedAndSound {
  TempFolder folder;
  Library library;
  CaptureQueue queue;
  std::int64_t damaged, sound;

  explicit DamagedAndSound(const std::string& address)
      : library(Library::openOrCreate(address)),
        queue(queueOf(library)),
        damaged(queueOne(library, folder, "a", "1")),
        sound(queueOne(library, folder, "b", "2")) {
    borrowConnection(address)->execute("UPDATE capture SET intake = '\\xff' WHERE id = " +
                                       std::to_string(damaged));
  }
};

}  // namespace

TEST_CASE("queue: each capture is claimed once, in the order in which they came") {
  REQUIRE_POSTGRES(server);
  TempFolder folder;
  const std::string address = server->newDatabase();
  Library library = Library::openOrCreate(address);
  CaptureQueue queue = queueOf(library);
  CHECK_FALSE(queue.claim("a"));
  std::vector<std::int64_t> queued;
  for (int i = 0; i < 40; ++i)
    queued.push_back(queueOne(library, folder, "n" + std::to_string(i), std::to_string(i)));
  CHECK(queue.claim("a")->id() == queued[0]);
  CHECK(queue.claim("b")->id() == queued[1]);
  std::map<std::int64_t, int> taken;
  std::mutex mutex;
  std::vector<std::thread> threads;
  for (int t = 0; t < 4; ++t)
    threads.emplace_back([&, t] {
      CaptureQueue mine(borrowConnection(address));
      while (const auto capture = mine.claim(std::to_string(t))) {
        const std::lock_guard lock(mutex);
        ++taken[capture->id()];
      }
    });
  for (auto& thread : threads) thread.join();
  CHECK(taken.size() == 38);
  for (const auto& [id, times] : taken) CHECK(times == 1);
}

TEST_CASE("queue: one that is damaged is set aside and named, and the others are worked on") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase();
  DamagedAndSound two(address);
  CaptureQueue& queue = two.queue;
  QueueList list = queue.list(false);
  REQUIRE(list.captures_size() == 2);
  CHECK(list.captures(0).reason().find("is damaged") != std::string::npos);
  CHECK(list.captures(1).intake().name() == "b");
  const auto claimed = queue.claim("a");
  REQUIRE(claimed);
  CHECK(claimed->id() == two.sound);
  CHECK_FALSE(queue.claim("b"));
  CHECK(queue.get(two.damaged)->state() == QueuedCapture::SET_ASIDE);
  queue.drop(two.damaged);
  CHECK(queue.get(two.damaged)->tries() == 1);
}

TEST_CASE("queue: one that is dropped while it is set aside keeps nobody from the next") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase();
  DamagedAndSound two(address);
  CaptureQueue& queue = two.queue;
  const std::string number = std::to_string(two.damaged);
  // Whoever claims it finds that its claim is not the last one any more.
  borrowConnection(address)->execute(
      "CREATE FUNCTION lose_claim() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
      "UPDATE capture SET state = 4, claim = claim + 1 WHERE id = NEW.id; RETURN NULL; END $$;"
      "CREATE TRIGGER lose_claim AFTER UPDATE ON capture FOR EACH ROW WHEN (NEW.id = " +
      number + " AND NEW.state = 2) EXECUTE FUNCTION lose_claim()");
  const auto claimed = queue.claim("a");
  REQUIRE(claimed);
  CHECK(claimed->id() == two.sound);
  CHECK(queue.get(two.damaged)->claim() == 2);
  CHECK_FALSE(queue.claim("b"));
}

TEST_CASE("queue: a lease that ran out is another's, and what the first one brings is refused") {
  REQUIRE_POSTGRES(server);
  TempFolder folder;
  const std::string address = server->newDatabase();
  Library library = Library::openOrCreate(address);
  CaptureQueue queue = queueOf(library);  // A lease is a minute.
  queueOne(library, folder, "ledge", "x");
  const auto first = queue.claim("a");
  REQUIRE(first);
  CHECK_FALSE(queue.claim("b"));
  passTime(address, 50);
  CHECK(queue.renew(*first));
  passTime(address, 50);
  CHECK_FALSE(queue.claim("b"));  // Prolonged.
  passTime(address, 20);
  const auto second = queue.claim("b");
  REQUIRE(second);
  CHECK(second->claim() == first->claim() + 1);
  CHECK_FALSE(queue.renew(*first));
  const auto storeAs = [&](const QueuedCapture& capture) {
    FinishedScan finished;
    finished.mesh_ply = "a mesh";
    return storeScan(library, finished, {}, {},
                     [&](const std::string& id) { queue.finishWithin(capture, id); });
  };
  CHECK_THROWS_AS(storeAs(*first), ClaimLost);
  CHECK(library.size() == 0);
  CHECK(storeAs(*second).id() == "H-0001");
  CHECK_THROWS_AS(storeAs(*second), ClaimLost);  // Nor twice by the same one.
  CHECK(library.size() == 1);
  CHECK(queue.get(second->id())->hold() == "H-0001");
  CHECK(queue.get(second->id())->state() == QueuedCapture::DONE);
}

TEST_CASE(
    "queue: failures pause longer and longer, then the capture is set aside with the reason") {
  REQUIRE_POSTGRES(server);
  TempFolder folder;
  const std::string address = server->newDatabase();
  Library library = Library::openOrCreate(address);
  CaptureQueue queue = queueOf(library, {60'000ms, 10'000ms, 3});
  const std::int64_t id = queueOne(library, folder, "ledge", "x");
  queue.failed(*queue.claim("a"), "no memory");
  passTime(address, 8);
  CHECK_FALSE(queue.claim("a"));
  passTime(address, 3);
  auto again = queue.claim("a");
  REQUIRE(again);
  queue.failed(*again, "no memory");
  passTime(address, 25);
  CHECK_FALSE(queue.claim("a"));  // 30 s by now.
  passTime(address, 6);
  again = queue.claim("a");
  REQUIRE(again);
  queue.failed(*again, "no memory");
  CHECK(queue.get(id)->state() == QueuedCapture::SET_ASIDE);
  CHECK(queue.get(id)->reason() == "It failed 3 times: no memory");
  CHECK(queue.open() == 0);
  queue.retry(id);
  CHECK(queue.claim("a")->tries() == 1);
  CHECK_THROWS_AS(queue.retry(id), BadInput);
  queue.drop(id);
  CHECK_THROWS_AS(queue.retry(id + 1), BadInput);
}

TEST_CASE("queue: one who waits is told at once; a folder has no queue, and says so") {
  REQUIRE_POSTGRES(server);
  TempFolder folder;
  const std::string address = server->newDatabase();
  Library library = Library::openOrCreate(address);
  CaptureQueue waiting(borrowConnection(address));
  std::thread later([&] {
    std::this_thread::sleep_for(200ms);
    Library other = Library::open(address);
    queueOne(other, folder, "ledge", "x");
  });
  const auto began = std::chrono::steady_clock::now();
  waiting.wait(60s);
  later.join();
  CHECK(std::chrono::steady_clock::now() - began < 30s);
  CHECK(waiting.claim("a"));
  CHECK_THROWS_WITH_AS(queueOf(Library::openOrCreate(folder / "l")),
                       doctest::Contains("is a folder"), BadInput);
}

TEST_CASE(
    "queue: four workers, one killed, one stopped beyond its lease, one cut off, the database "
    "restarted: every capture is one hold, none is lost") {
  REQUIRE_POSTGRES(server);
  TempFolder folder;
  const std::string address = server->newDatabase();
  Library::openOrCreate(address);
  constexpr int kGood = 24;
  {
    Library library = Library::open(address);
    for (int i = 0; i < kGood; ++i) {
      const std::string n = std::to_string(i);
      queueOne(library, folder, "hold " + n, "slow 0.3 hold " + n);
      if (i == 5) queueOne(library, folder, "blurred", "bad All photos are blurred: hold still.");
      if (i == 7) queueOne(library, folder, "poison", "crash");
    }
  }
  const auto done = [&] {
    return borrowConnection(address)
        ->run("SELECT count(*) FROM capture WHERE state = 3")
        .integer(0, 0);
  };
  WorkProcess killed(address, folder / "w1"), stopped(address, folder / "w2"),
      cut_off(address, folder / "w3"), steady(address, folder / "w4");
  REQUIRE(waitUntil([&] { return done() >= 3; }, 60s));
  killed.end(SIGKILL);
  stopped.signal(SIGSTOP);
  // Cut off: its connections end, and new ones are refused for a while like everybody's.
  borrowConnection(address)->run(
      "SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity WHERE datname = "
      "current_database() AND pid <> pg_backend_pid()");
  REQUIRE(waitUntil([&] { return done() >= 8; }, 60s));
  server->restart();
  REQUIRE(waitUntil([&] { return done() >= 10; }, 60s));
  stopped.signal(SIGCONT);  // Long after its lease: another one has its capture.
  WorkProcess fresh(address, folder / "w5");
  CHECK(waitUntil([&] { return queueOf(Library::open(address)).open() == 0; }, 60s));
  CHECK(steady.end(SIGTERM) == 0);

  const Library library = Library::open(address);
  const auto holds = holdsByName(library);
  CHECK(holds.size() == kGood);
  for (const auto& [name, count] : holds) {
    CAPTURE(name);
    CHECK(count == 1);
  }
  const QueueList captures = queueOf(library).list(true);
  for (const QueuedCapture& capture : captures.captures()) {
    CAPTURE(capture.intake().name());
    if (capture.intake().name() == "blurred") {
      CHECK(capture.state() == QueuedCapture::SET_ASIDE);
      CHECK(capture.reason() == "All photos are blurred: hold still.");
      CHECK(capture.tries() >= 1);
    } else if (capture.intake().name() == "poison") {
      CHECK(capture.state() == QueuedCapture::SET_ASIDE);
      CHECK(capture.reason().find("ended by itself") != std::string::npos);
    } else {
      CHECK(capture.state() == QueuedCapture::DONE);
      CHECK(library.hold(capture.hold()).name() == capture.intake().name());
      CHECK(library.hold(capture.hold()).scans(0).photo_blobs_size() == 1);
    }
  }
  CHECK(checkLibrary(address, false, {}).faults().empty());
}

TEST_CASE("queue: what a stopped worker puts back is ready at once and has lost no try") {
  REQUIRE_POSTGRES(server);
  TempFolder folder;
  const std::string address = server->newDatabase();
  Library library = Library::openOrCreate(address);
  CaptureQueue queue = queueOf(library, {60'000ms, 10'000ms, 3});
  const std::int64_t id = queueOne(library, folder, "ledge", "slow 20 hold chip");
  queue.failed(*queue.claim("a"), "no memory");
  passTime(address, 11);
  for (int i = 0; i < 6; ++i) {
    const auto capture = queue.claim("a");
    REQUIRE(capture);
    CHECK(capture->tries() == 2);
    queue.putBack(*capture);
    CHECK_THROWS_AS(queue.putBack(*capture), ClaimLost);
  }
  CHECK(queue.get(id)->tries() == 1);
  CHECK(queue.get(id)->reason() == "no memory");

  // By Ctrl-C, in the middle of a rebuild.
  for (int i = 0; i < 2; ++i) {
    WorkProcess worker(address, folder / "w");
    REQUIRE(waitUntil([&] { return queue.get(id)->state() == QueuedCapture::WORKING; }, 60s));
    CHECK(worker.end(SIGINT) == 0);
    CHECK(queue.get(id)->state() == QueuedCapture::WAITING);
    CHECK(queue.get(id)->tries() == 1);
  }
  CHECK(queue.claim("b"));  // No pause.
}

TEST_CASE("queue: an intake desk gets what a worker elsewhere rebuilt") {
  REQUIRE_POSTGRES(server);
  TempFolder folder;
  const std::string address = server->newDatabase();
  Library library = Library::openOrCreate(address);
  fs::create_directories(folder / "intake");
  std::ofstream(folder / "intake" / "photo-01.jpg") << "hold chip";
  Intake intake;
  IntakePhoto& photo = *intake.add_photos();
  photo.set_label("photo-01.jpg");
  photo.set_sha256(sha256Hex("hold chip"));
  // Stopped while it waits, it goes on waiting for the same one.
  CHECK_THROWS_AS(awaitRebuild(address, folder / "intake", intake,
                               [](const std::string&, double) { return false; }),
                  Interrupted);
  // While no machine is free it waits for news and does not ask all the time.
  const auto begun = std::chrono::steady_clock::now();
  int looks = 0;
  CHECK_THROWS_AS(awaitRebuild(address, folder / "intake", intake,
                               [&](const std::string&, double) { return ++looks < 3; }),
                  Interrupted);
  CHECK(std::chrono::steady_clock::now() - begun > 1s);
  WorkProcess worker(address, folder / "w");
  int steps = 0;
  awaitRebuild(address, folder / "intake", intake,
               [&](const std::string&, double) { return ++steps < 100; });
  CHECK(readFinished(folder / "intake").finished.mesh_ply == "the mesh of chip");
  CHECK(queueOf(library).list(true).captures_size() == 1);
  CHECK(library.size() == 0);  // A person says what it is.
}

TEST_CASE("queue: a claim that a crash of the server forgot is nobody's, also under its number") {
  REQUIRE_POSTGRES(server);
  TempFolder folder;
  const std::string address = server->newDatabase();
  Library library = Library::openOrCreate(address);
  CaptureQueue queue = queueOf(library);
  const std::int64_t id = queueOne(library, folder, "ledge", "x");
  const auto first = queue.claim("a");
  REQUIRE(first);
  // Claims do not wait for the disk: the row may be back as it was before.
  borrowConnection(address)->run(
      "UPDATE capture SET state = 1, claim = 0, tries = 0, ready_at = now()");
  CHECK_THROWS_AS(queue.finish(*first, {}), ClaimLost);
  const auto second = queue.claim("b");
  REQUIRE(second);
  CHECK(second->claim() == first->claim());
  CHECK_FALSE(queue.renew(*first));
  CHECK_THROWS_AS(queue.finish(*first, {}), ClaimLost);
  CHECK(queue.renew(*second));
  queue.finish(*second, {});
  CHECK(queue.get(id)->state() == QueuedCapture::DONE);
  // What a statement said for itself holds for no other on the connection.
  const auto connection = dynamic_cast<PostgresStore&>(library.store()).connection();
  CHECK(connection->run("SHOW synchronous_commit").text(0, 0) == "on");
}

TEST_CASE("queue: by the program: add, list, retry, drop") {
  REQUIRE_POSTGRES(server);
  TempFolder folder;
  const std::string address = server->newDatabase();
  Library library = Library::openOrCreate(address);
  queueOne(library, folder, "ledge", "bad The mat is not to be seen: lay the hold in its middle.");
  const auto run = runProgram({"work", "--until-empty", "--library", address, "--rebuild-with",
                               HOLDSHELF_STAND_IN_REBUILD});
  CAPTURE(run.err);
  CHECK(run.status == 0);
  CHECK(run.out.find("The mat is not to be seen") != std::string::npos);
  const auto listed = runProgram({"queue", "list", "--library", address});
  CHECK(listed.out.find("set aside") != std::string::npos);
  CHECK(listed.out.find("The mat is not to be seen") != std::string::npos);
  CHECK(runProgram({"queue", "retry", "1", "--library", address}).status == 0);
  CHECK(runProgram({"queue", "drop", "1", "--library", address}).status == 0);
  CHECK(runProgram({"queue", "drop", "9", "--library", address}).status == 1);
  CHECK(runProgram({"work", "--library", (folder / "none").string()}).status == 1);
}
