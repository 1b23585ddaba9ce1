// SPDX-License-Identifier: Apache-2.0
// A library in PostgreSQL does what one in a folder does.
#include <doctest/doctest.h>

#include <array>
#include <atomic>
#include <chrono>
#include <fstream>
#include <set>
#include <thread>

#include "catalog/blob_store.h"
#include "catalog/climbs.h"
#include "catalog/find.h"
#include "catalog/library_check.h"
#include "catalog/library_transfer.h"
#include "catalog/postgres_pool.h"
#include "catalog/postgres_store.h"
#include "tests/catalog/environment.h"
#include "tests/catalog/library_model.h"
#include "tests/catalog/run_program.h"
#include "tests/postgres/test_server.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("shared library: 10 000 random operations against the in-memory model") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase();
  runRandomOperations([&] { return Library::openOrCreate(address); }, 10'000);
  // Nothing is wrong but that the model's photos were never put.
  const CheckReport report = checkLibrary(address, false, {});
  for (const std::string& fault : report.faults()) {
    CAPTURE(fault);
    CHECK(fault.find("photo is lost: blob 0123.") != std::string::npos);
  }
}

TEST_CASE("shared library: ids are given once, however many commit at the same time") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase();
  { (void)Library::openOrCreate(address); }
  std::array<std::thread, 4> threads;
  for (auto& thread : threads)
    thread = std::thread([&] {
      Library library = Library::open(address);
      for (int i = 0; i < 20; ++i) library.commit({created(""), scanned("", i)});
    });
  for (auto& thread : threads) thread.join();
  const Library library = Library::open(address);
  CHECK(library.size() == 80);
  CHECK(library.hold("H-0080").scans_size() == 1);
  CHECK(library.lastEvent() == 160);
}

TEST_CASE("shared library: two setters want the same hold; one of them gets it") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase();
  Library::openOrCreate(address).commit({created("H-0001")});
  std::array<int, 4> got{};
  std::array<std::thread, 4> threads;
  for (std::size_t i = 0; i < threads.size(); ++i)
    threads[i] = std::thread([&, i] {
      Library library = Library::open(address);
      Event taken;
      taken.set_hold("H-0001");
      taken.mutable_moved()->set_status(CRATE);
      taken.mutable_moved()->set_crate("C-" + std::to_string(i));
      try {
        library.commit({taken}, [&] {
          if (library.hold("H-0001").status() != SHELF) throw BadInput("It is taken.");
          std::this_thread::sleep_for(std::chrono::milliseconds(20));  // Room for a race.
        });
        got.at(i) = 1;
      } catch (const BadInput&) {
      }
    });
  for (auto& thread : threads) thread.join();
  CHECK(got[0] + got[1] + got[2] + got[3] == 1);
  CHECK(Library::open(address).history("H-0001").size() == 2);
}

TEST_CASE("shared library: files are checked on reading, and a lost one comes back from a copy") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase(), copy = server->newDatabase();
  Library library = Library::openOrCreate(address);
  Event event = scanned("H-0001", 12);
  const std::string mesh = library.blobs().put("a mesh");
  CHECK(library.blobs().put("a mesh") == mesh);
  event.mutable_scanned()->set_mesh_blob(mesh);
  library.commit({created("H-0001"), event});
  CHECK(library.blobs().get(mesh) == "a mesh");
  CHECK(library.blobs().names().size() == 2);
  Library other = Library::openOrCreate(copy);
  transferLibrary(library, other, {});

  borrowConnection(address)->run("UPDATE blob SET bytes = 'a mess' WHERE name = $1",
                                 postgres::Values().add(mesh));
  CHECK_THROWS_WITH_AS(library.blobs().get(mesh), doctest::Contains("has changed"), BadInput);
  CHECK(checkLibrary(address, false, {}).faults_size() > 0);
  CHECK(checkLibrary(address, true, {}, copy).mended_size() == 1);
  CHECK(library.blobs().get(mesh) == "a mesh");
  CHECK(checkLibrary(address, false, {}).faults().empty());
  CHECK_THROWS_AS(library.blobs().get(std::string(64, '0')), BadInput);
}

TEST_CASE("shared library: a damaged file is whole again once its bytes are put") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase();
  Library library = Library::openOrCreate(address);
  const std::string mesh = library.blobs().put("a mesh");
  for (const char* damage : {"a mess", "a m", ""}) {
    borrowConnection(address)->run("UPDATE blob SET bytes = $2 WHERE name = $1",
                                   postgres::Values().add(mesh).addBytes(damage));
    CHECK_THROWS_AS(library.blobs().get(mesh), BadInput);
    CHECK(library.blobs().put("a mesh") == mesh);
    CHECK(library.blobs().get(mesh) == "a mesh");
  }
}

TEST_CASE("shared library: rows that somebody changed are found and made anew from the batches") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase();
  Library library = Library::openOrCreate(address);
  library.commit({created("H-0001", "Quarry ledge", "B4"), scanned("H-0001", 31.5)});
  library.commit({created("H-0002")});
  for (const char* damage : {"UPDATE hold SET name = 'x' WHERE id = 'H-0001'",
                             "UPDATE hold SET site = 'elsewhere' WHERE id = 'H-0001'",
                             "UPDATE hold SET marks = '{}' WHERE id = 'H-0001'",
                             "UPDATE hold SET marks[2] = marks[2] + 1 WHERE id = 'H-0002'",
                             "DELETE FROM event WHERE number = 3", "DELETE FROM hold"}) {
    CAPTURE(std::string(damage));
    borrowConnection(address)->execute(damage);
    CHECK(checkLibrary(address, false, {}).faults_size() > 0);
    CHECK(checkLibrary(address, true, {}).repaired());
    CHECK(checkLibrary(address, false, {}).faults().empty());
    CHECK(library.hold("H-0001").name() == "Quarry ledge");
  }
}

TEST_CASE("shared library: a check beside others who write finds no fault of theirs") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase();
  Library library = Library::openOrCreate(address);
  for (int i = 0; i < 6; ++i) library.commit({created(""), scanned("", i)});
  int commits = 0;
  const CheckReport report = checkLibrary(address, false, [&](const std::string&, double done) {
    if (done > 0.5 && commits++ < 4) library.commit({created(""), scanned("", commits)});
    return true;
  });
  CAPTURE(report.ShortDebugString());
  CHECK(report.faults().empty());
  CHECK(report.holds() == library.size());
  CHECK(report.events() == library.lastEvent());
}

TEST_CASE("shared library: where the connection ends under a check, no file is called damaged") {
  REQUIRE_POSTGRES(server);
  for (const bool repair : {false, true}) {
    const std::string address = server->newDatabase();
    Library::openOrCreate(address).commit({created(""), scanned("", 1)});
    bool ended = false;
    const auto endAll = [&](const std::string&, double) {
      if (!ended)
        borrowConnection(address)->execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = "
            "current_database() AND pid <> pg_backend_pid()");
      return ended = true;
    };
    CHECK_THROWS_AS(checkLibrary(address, repair, endAll), StoreUnavailable);
    CHECK(ended);
  }
}

TEST_CASE("shared library: what is committed while it is made anew stays") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase();
  Library::openOrCreate(address).commit({created("H-0001"), created("H-0002")});
  std::atomic<bool> done = false;
  std::atomic<int> commits = 0;
  std::thread writer([&] {
    Library library = Library::open(address);
    for (; !done; ++commits) {
      Event note;
      note.set_hold("H-0001");
      note.set_noted("seen");
      library.commit({note});
    }
  });
  for (int i = 0; i < 8; ++i) {
    while (commits < 2 * (i + 1)) std::this_thread::sleep_for(std::chrono::milliseconds(1));
    borrowConnection(address)->execute("UPDATE hold SET name = 'x' WHERE id = 'H-0002'");
    CHECK(checkLibrary(address, true, {}).repaired());
  }
  done = true;
  writer.join();
  CHECK(Library::open(address).lastEvent() == 2 + commits);
  CHECK(Library::open(address).hold("H-0001").notes_size() == commits);
  CHECK(checkLibrary(address, false, {}).faults().empty());
}

TEST_CASE("shared library: what the database alone has is kept, and what it says otherwise") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase();
  Library library = Library::openOrCreate(address);
  for (const char* name : {"one", "two", "three"}) library.commit({created("", name)});
  const auto batches = library.store().batches();
  Batch cut_off;
  cut_off.set_previous(batches[1]);
  for (int i = 3; i < 20; ++i) {
    Event& event = *cut_off.add_events();
    event = created("X-" + std::to_string(i));
    event.set_number(i);
    event.set_at("2031-01-01T00:00:00.000Z");
  }
  library.blobs().put(cut_off.SerializeAsString());
  const auto connection = borrowConnection(address);
  connection->run("DELETE FROM blob WHERE name = $1", postgres::Values().add(batches[2]));
  CHECK(checkLibrary(address, true, {}).repaired());
  CHECK(library.size() == 3);
  CHECK(library.hold("H-0003").name() == "three");
  CHECK(checkLibrary(address, false, {}).faults().empty());

  Event otherwise = library.history("H-0001").front();
  otherwise.mutable_created()->set_name("otherwise");
  connection->run("UPDATE event SET body = $1 WHERE number = 1",
                  postgres::Values().addBytes(otherwise.SerializeAsString()));
  const CheckReport report = checkLibrary(address, true, {});
  REQUIRE(report.mended_size() == 1);
  CHECK(report.mended(0).find("event_before_repair_1") != std::string::npos);
  CHECK(connection->run("SELECT body FROM event_before_repair_1 WHERE number = 1").text(0, 0) ==
        otherwise.SerializeAsString());
  CHECK(library.hold("H-0001").name() == "one");
  connection->execute("UPDATE event SET body = '\\xff' WHERE number = 1");  // No event at all.
  CHECK(checkLibrary(address, true, {}).repaired());
  CHECK(connection->run("SELECT body FROM event_before_repair_2 WHERE number = 1").text(0, 0) ==
        "\xff");
  CHECK(library.hold("H-0001").name() == "one");
  CHECK(checkLibrary(address, false, {}).faults().empty());
}

TEST_CASE("shared library: one site mends and brings over what all of them have said") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase(), copy = server->newDatabase();
  Library library = Library::openOrCreate(address);
  library.actAt("south");
  library.commit({created("H-0001"), scanned("H-0001", 31.5)});
  Event edited;
  edited.set_hold("H-0001");
  edited.mutable_edited()->add_fields("name");
  edited.mutable_edited()->set_name("Quarry ledge");
  library.commit({edited});
  const Environment site("HOLDSHELF_SITE", "north");
  Library there = Library::openOrCreate(copy);
  CHECK_THROWS_AS(Library::open(address).commit({edited}), BadInput);
  CHECK(transferLibrary(library, there, {}).events() == 3);
  CHECK(libraryDigest(there) == libraryDigest(library));
  borrowConnection(address)->execute("DELETE FROM hold");
  CHECK(checkLibrary(address, true, {}).repaired());
  CHECK(library.hold("H-0001").name() == "Quarry ledge");
  CHECK(checkLibrary(address, false, {}).faults().empty());
}

TEST_CASE("shared library: that its server keeps no checksums is said, and is no fault") {
  REQUIRE_POSTGRES(server);  // It was made without them.
  const std::string address = server->newDatabase();
  { (void)Library::openOrCreate(address); }
  const CheckReport without = checkLibrary(address, false, {});
  CHECK(without.faults().empty());
  REQUIRE(without.remarks_size() == 1);
  CHECK(without.remarks(0).find("pg_checksums --enable") != std::string::npos);
  const auto run = runProgram({"check", "--library", address});
  CHECK(run.status == 0);
  CHECK(run.out.find("pg_checksums --enable") != std::string::npos);

  const auto with = TestServer::flushing("16MB");
  const std::string other = with->newDatabase();
  { (void)Library::openOrCreate(other); }
  CHECK(checkLibrary(other, false, {}).remarks().empty());
}

TEST_CASE("shared library: a transaction in which a statement failed is not stored, and says so") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase();
  Library library = Library::openOrCreate(address);
  const auto connection = borrowConnection(address);
  {
    postgres::Transaction transaction(*connection);
    connection->execute("INSERT INTO meta VALUES('mine', '1')");
    CHECK_THROWS_AS(connection->execute("SELECT 1 / 0"), postgres::Error);
    CHECK_THROWS_WITH_AS(transaction.commit(), doctest::Contains("whole transaction"),
                         postgres::Error);
  }
  CHECK_FALSE(connection->inTransaction());
  CHECK(connection->run("SELECT FROM meta WHERE key = 'mine'").empty());
  postgres::Connection& own = *dynamic_cast<PostgresStore&>(library.store()).connection();
  CHECK_THROWS_AS(library.commit({created("H-0001")},
                                 [&] {
                                   try {
                                     own.execute("SELECT 1 / 0");
                                   } catch (const postgres::Error&) {  // Swallowed.
                                   }
                                 }),
                  StoreUnavailable);
  library.commit({created("H-0001")});
  CHECK(library.lastEvent() == 1);
}

TEST_CASE("shared library: a newer one is left alone; a lost connection is a sentence") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase();
  CHECK_THROWS_WITH_AS(Library::open(address), doctest::Contains("no library"), BadInput);
  Library library = Library::openOrCreate(address);
  library.commit({created("H-0001")});
  server->restart();  // Recovers from its log: what was acknowledged is there.
  CHECK_THROWS_AS(library.commit({created("H-0002")}), StoreUnavailable);
  CHECK(Library::open(address).has("H-0001"));
  CHECK_FALSE(Library::open(address).has("H-0002"));
  borrowConnection(address)->execute("UPDATE meta SET value = '99' WHERE key = 'version'");
  CHECK_THROWS_AS(Library::open(address), NewerLibrary);
  CHECK_THROWS_AS(Library::open("postgres://tester@127.0.0.1:1/none"), StoreUnavailable);
}

TEST_CASE("transfer: a folder into PostgreSQL and back is the same library, byte for byte") {
  REQUIRE_POSTGRES(server);
  TempFolder folder;
  Library first = Library::openOrCreate(folder / "first");
  for (int i = 1; i <= 12; ++i) {
    Event event = scanned("", i);
    event.mutable_scanned()->set_mesh_blob(first.blobs().put("mesh " + std::to_string(i)));
    first.commit({created("", "hold " + std::to_string(i)), event});
  }
  const std::string address = server->newDatabase();
  Library shared = Library::openOrCreate(address);
  // Cut off again and again; each run goes on where the one before stopped.
  for (int most = 2; most <= 6; ++most) {
    int steps = 0;
    CHECK_THROWS_AS(
        transferLibrary(first, shared, [&](const std::string&, double) { return ++steps < most; }),
        Interrupted);
    CHECK(checkLibrary(address, false, {}).faults().empty());
  }
  CHECK(shared.size() >= 10);
  const TransferReport report = transferLibrary(first, shared, {});
  CHECK(report.batches_added() <= 2);
  CHECK(report.holds() == 12);
  CHECK(report.events() == 24);
  CHECK(report.files() == 24);
  CHECK(libraryDigest(shared) == libraryDigest(first));

  shared.commit({created("H-0100", "made over there")});
  Library back = Library::openOrCreate(folder / "back");
  CHECK(transferLibrary(shared, back, {}).holds() == 13);
  CHECK(libraryDigest(back) == libraryDigest(shared));
  CHECK(checkLibrary(folder / "back", false, {}).faults().empty());
  CHECK(back.blobs().get(sha256Hex("mesh 7")) == "mesh 7");
  // The first one went on differently: nothing is overwritten.
  first.commit({created("H-0200", "made here meanwhile")});
  CHECK_THROWS_WITH_AS(transferLibrary(first, shared, {}), doctest::Contains("no earlier state"),
                       BadInput);
  CHECK(shared.has("H-0100"));
}

TEST_CASE("transfer: files may be kept in a folder that all machines share") {
  REQUIRE_POSTGRES(server);
  TempFolder folder;
  Library first = Library::openOrCreate(folder / "first");
  first.commit({created("H-0001")});
  const std::string address = server->newDatabase();
  const auto run = runProgram({"transfer", "--from", (folder / "first").string(), "--to", address,
                               "--files", (folder / "shared").string(), "--json"});
  CAPTURE(run.err);
  REQUIRE(run.status == 0);
  CHECK(run.out.find("\"holds\": \"1\"") != std::string::npos);
  CHECK(BlobStore(folder / "shared").names().size() == 1);
  CHECK(borrowConnection(address)->run("SELECT count(*) FROM blob").integer(0, 0) == 0);
  CHECK(Library::open(address).blobs().names().size() == 1);
  CHECK(runProgram({"transfer", "--from", address, "--to", address}).status == 1);
}

TEST_CASE("transfer: a folder of shared files that is not mounted takes and loses nothing") {
  REQUIRE_POSTGRES(server);
  TempFolder folder;
  const std::string address = server->newDatabase(), other = server->newDatabase();
  for (const auto& [place, files] : {std::pair(address, "shared"), std::pair(other, "others")}) {
    (void)Library::openOrCreate(place);
    PostgresStore(place).keepFilesIn(folder / files);
    Library::open(place).commit({created("H-0001")});
  }
  const auto refusal = [&] {
    try {
      Library::open(address).commit({created("")});
    } catch (const StoreUnavailable& error) {
      return std::string(error.what());
    }
    return std::string();
  };
  Library in_use = Library::open(address);
  const std::string batch = in_use.store().lastBatch();
  std::filesystem::rename(folder / "shared", folder / "mounted elsewhere");
  CHECK_THROWS_AS(in_use.commit({created("")}), StoreUnavailable);
  CHECK_THROWS_AS((void)in_use.blobs().get(batch), StoreUnavailable);
  CHECK_THROWS_AS((void)in_use.blobs().names(), StoreUnavailable);
  CHECK(refusal().find("they are not there") != std::string::npos);
  std::filesystem::create_directory(folder / "shared");  // As a mount point is.
  CHECK(refusal().find("they are not there") != std::string::npos);
  CHECK(std::filesystem::is_empty(folder / "shared"));
  {
    const Environment files("HOLDSHELF_FILES", (folder / "others").string());
    CHECK(refusal().find("another library") != std::string::npos);
  }
  {
    const Environment files("HOLDSHELF_FILES", (folder / "mounted elsewhere").string());
    CHECK(refusal() == "");
    CHECK(Library::open(address).blobs().names().size() == 2);
  }
  // One that an older program made has no mark, and is used as before.
  borrowConnection(address)->execute("DELETE FROM holdshelf.meta WHERE key = 'files/id'");
  CHECK(refusal() == "");
}

TEST_CASE("transfer: a folder of shared files that an older program filled gets the mark") {
  REQUIRE_POSTGRES(server);
  TempFolder folder;
  const std::string address = server->newDatabase();
  (void)Library::openOrCreate(address);
  const auto files = folder / "shared", mark = files / "holdshelf.files";
  PostgresStore(address).keepFilesIn(files);
  for (const char* id : {"H-0001", "H-0002", "H-0003"})
    Library::open(address).commit({created(id)});
  const auto unmark = [&] {
    borrowConnection(address)->execute("DELETE FROM holdshelf.meta WHERE key = 'files/id'");
    std::filesystem::remove(mark);
  };
  const auto isMarked = [&] {
    return std::filesystem::exists(mark) &&
           !borrowConnection(address)
                ->run("SELECT 1 FROM holdshelf.meta WHERE key = 'files/id'")
                .empty();
  };
  // Under the mount point of a machine that had not mounted it, what that stored last.
  const auto names = PostgresStore(address).batches();
  const auto under = folder / "under";
  BlobStore(under).put(BlobStore(files).get(names.back()));
  unmark();
  {
    const Environment mounted("HOLDSHELF_FILES", under.string());
    (void)Library::open(address);
    CHECK_FALSE(std::filesystem::exists(under / "holdshelf.files"));
    CHECK_FALSE(isMarked());
  }
  {
    Library busy = Library::open(address);
    CHECK(isMarked());
    unmark();
    const auto write = busy.store().write();  // A repair opens its files while it writes.
    (void)blobsAt(address);
    CHECK_FALSE(isMarked());
  }
  PostgresStore(address).keepFilesIn(files);  // As transfer --files, run again, does.
  CHECK(isMarked());
  unmark();
  Library in_use = Library::open(address);
  CHECK(isMarked());
  std::filesystem::rename(files, folder / "away");
  std::filesystem::create_directory(files);  // As a mount point is.
  CHECK_THROWS_AS(in_use.commit({created("")}), StoreUnavailable);
  CHECK_THROWS_AS(Library::open(address), StoreUnavailable);
  CHECK(std::filesystem::is_empty(files));
  std::filesystem::remove(files);
  std::filesystem::rename(folder / "away", files);
  CHECK(Library::open(address).commit({created("H-0004")}).size() == 1);
}

TEST_CASE("program: --library postgres://... does what a folder does") {
  REQUIRE_POSTGRES(server);
  TempFolder folder;
  const std::string address = server->newDatabase();
  const std::string mesh = HOLDSHELF_SOURCE_DIR "/testdata/demo/evening/shingle_chip.ply";
  REQUIRE(std::filesystem::exists(mesh));
  const auto ok = [&](std::vector<std::string> words) {
    words.insert(words.end(), {"--library", address});
    const auto run = runProgram(words);
    std::string line;
    for (const auto& word : words) line += word + " ";
    CAPTURE(line);
    CAPTURE(run.err);
    CHECK(run.status == 0);
    return run.out;
  };
  ok({"shelve", mesh, "--name", "Shingle chip", "--bin", "C2"});
  CHECK(ok({"show", "H-0001"}).find("Shingle chip") != std::string::npos);
  CHECK(ok({"find", "bin C2"}).find("H-0001") != std::string::npos);
  ok({"note", "H-0001", "--text", "a crack?"});
  CHECK(ok({"history", "H-0001"}).find("a crack?") != std::string::npos);
  ok({"move", "H-0001", "--to", "wash"});
  ok({"twins"});
  ok({"gaps"});
  ok({"check"});
  const auto backup = runProgram({"backup", (folder / "b").string(), "--library", address});
  CHECK(backup.status == 1);
  CHECK(backup.err.find("pg_dump") != std::string::npos);
  CHECK(isOneSentence(runProgram({"find", "--library", "postgres://tester@127.0.0.1:1/x"}).err));
}
