// SPDX-License-Identifier: Apache-2.0
// What every store must do, held against all there are.
#include <doctest/doctest.h>

#include <array>
#include <set>
#include <thread>

#include "catalog/library_store.h"
#include "catalog/postgres_store.h"
#include "catalog/sqlite_store.h"
#include "tests/postgres/test_server.h"

using namespace holdshelf;
using holdshelf::test::TempFolder;

namespace {

using Open = std::function<std::unique_ptr<LibraryStore>()>;

/// Runs the check on a store of each kind; `open` opens the same one again.
void onBoth(const std::function<void(const Open& open)>& check) {
  {
    INFO("SQLite");
    TempFolder folder;
    check([&] {
      auto store = std::make_unique<SqliteStore>(folder.path());
      store->migrate([] {});
      return store;
    });
  }
  REQUIRE_POSTGRES(server);
  INFO("PostgreSQL");
  const std::string address = server->newDatabase();
  check([&] {
    auto store = std::make_unique<PostgresStore>(address);
    store->migrate([] {});
    return store;
  });
}

HoldRow row(std::string_view id, std::string_view name, std::string_view body) {
  HoldRow hold;
  hold.id = id;
  hold.status = 1;
  hold.name = name;
  hold.body = body;
  hold.search = "search";
  return hold;
}

std::vector<std::string> namesOf(LibraryStore& store) {
  std::vector<std::string> names;
  store.forEachHold(LibraryStore::HoldPart::Body, [&](const HoldRow& hold) {
    names.push_back(std::to_string(hold.key) + " " + std::string(hold.id) + " " +
                    std::string(hold.name));
  });
  return names;
}

}  // namespace

TEST_CASE("store: an empty one has nothing, under every question") {
  onBoth([](const Open& open) {
    const auto store = open();
    CHECK(store->holdCount() == 0);
    CHECK(store->lastKey() == 0);
    CHECK(store->lastEvent() == 0);
    CHECK(store->lastBatch().empty());
    CHECK(store->batches().empty());
    CHECK(store->holdIds().empty());
    CHECK_FALSE(store->hasHold("H-0001"));
    CHECK_FALSE(store->holdBody("H-0001"));
    CHECK(store->countEventsOf("H-0001") == 0);
    CHECK(store->subjects("climb/").empty());
    CHECK(store->damage().empty());
  });
}

TEST_CASE("store: rows come back byte for byte, in order, with keys that leave no gap") {
  // All bytes there are, also 0; and letters beyond ASCII, whose order must be that of their bytes.
  std::string bytes;
  for (int i = 0; i < 256; ++i) bytes += static_cast<char>(i);
  onBoth([&](const Open& open) {
    {
      const auto store = open();
      const auto write = store->write();
      HoldRow measured = row("H-2", "Überhang", bytes);
      measured.bin = "B4";
      measured.set = "set";
      measured.colour = "vivid red";
      measured.site = "north";
      measured.search = bytes;
      measured.protrusion_mm = 31.1234567890123;
      measured.volume_mm3 = -0.0;
      store->putHolds({measured, row("H-1", "b", "")});
      store->putHolds({row("H-1", "c", "1"), row("H-3", "d", "2")});
      write->commit();
    }
    const auto store = open();
    CHECK(namesOf(*store) == std::vector<std::string>{"1 H-2 Überhang", "2 H-1 c", "3 H-3 d"});
    CHECK(store->holdIds() == std::vector<std::string>{"H-2", "H-1", "H-3"});
    CHECK(store->lastKey() == 3);
    CHECK(*store->holdBody("H-2") == bytes);
    int visited = 0;
    store->forEachHold(LibraryStore::HoldPart::Search, [&](const HoldRow& hold) {
      CHECK(hold.body.empty());
      if (hold.id != "H-2") return;
      ++visited;
      CHECK(hold.search == bytes);
      CHECK(hold.status == 1);
      CHECK(hold.bin == "B4");
      CHECK(hold.set == "set");
      CHECK(hold.colour == "vivid red");
      CHECK(hold.site == "north");
      CHECK(hold.protrusion_mm == 31.1234567890123);
      CHECK_FALSE(hold.width_mm);
      CHECK_FALSE(hold.height_mm);
      CHECK(hold.volume_mm3 == 0);
    });
    CHECK(visited == 1);
  });
}

TEST_CASE("store: many rows at once, in pieces, are the same rows with the same keys") {
  REQUIRE_POSTGRES(server);
  constexpr std::size_t kRows = 100;
  const auto storedIn = [&](std::size_t piece_bytes) {
    PostgresStore store(server->newDatabase(), piece_bytes);
    store.migrate([] {});
    std::vector<std::string> ids, bodies;
    for (std::size_t i = 0; i < kRows; ++i) {
      ids.push_back("H-" + std::to_string((i * 37) % kRows));  // Not in their order.
      bodies.push_back(std::string(i * 11, 'x') + std::to_string(i));
    }
    std::vector<HoldRow> holds;
    std::vector<EventRow> events;
    for (std::size_t i = 0; i < kRows; ++i) {
      holds.push_back(row(ids[i], "name", bodies[i]));
      holds.back().marks = {static_cast<std::int32_t>(i), 7};
      events.push_back({static_cast<std::int64_t>(i + 1), ids[i], "t", "Mo", bodies[i]});
    }
    const auto write = store.write();
    store.putHolds({row("H-5", "old", ""), row("H-50", "old", "")});  // Two are there already.
    store.putHolds(holds);
    store.addEvents(events);
    write->commit();
    std::vector<std::string> rows;
    store.forEachHold(LibraryStore::HoldPart::Body, [&](const HoldRow& hold) {
      rows.push_back(std::to_string(hold.key) + " " + std::string(hold.id) + " " +
                     std::string(hold.name) + " " + std::string(hold.body));
    });
    store.forEachEvent(
        [&](const EventRow& event) {
          rows.push_back(std::to_string(event.number) + " " + std::string(event.subject) + " " +
                         std::string(event.body));
        },
        0);
    return rows;
  };
  const std::vector<std::string> at_once = storedIn(postgres::kUsualPiece);
  CHECK(at_once.size() == 2 * kRows);
  CHECK(storedIn(1000) == at_once);
  CHECK(storedIn(1) == at_once);  // A statement each.
}

TEST_CASE("store: a write that takes long is waited for longer, to its end") {
  REQUIRE_POSTGRES(server);
  PostgresStore store(server->newDatabase());
  store.migrate([] {});
  const auto longest = [&] {
    return store.connection()->run("SHOW idle_in_transaction_session_timeout").text(0, 0);
  };
  const std::string outside = longest();
  for (const bool slow : {true, false}) {
    const auto write = store.write();
    if (slow) store.takeLong();
    CHECK(longest() == (slow ? "1h" : "1min"));
    write->commit();
    CHECK(longest() == outside);
  }
}

TEST_CASE("store: rows are shared out to statements of so many bytes, each row once") {
  const std::vector<std::string> rows = {"1", "22", "333", "4444", "55555", "6"};
  const auto piecesOf = [&](std::size_t most) {
    std::vector<std::string> pieces;
    postgres::inPieces(
        rows, most, [](const std::string& one) { return one.size(); },
        [&](std::span<const std::string> piece) {
          std::string all;
          for (const std::string& one : piece) all += one;
          pieces.push_back(all);
        });
    return pieces;
  };
  CHECK(piecesOf(4) == std::vector<std::string>{"122", "333", "4444", "55555", "6"});
  CHECK(piecesOf(1000) == std::vector<std::string>{"1223334444555556"});
}

TEST_CASE("store: what no message can hold is refused, and the connection stays" *
          doctest::skip()) {  // Takes 3 GB of memory.
  REQUIRE_POSTGRES(server);
  postgres::Connection connection(server->newDatabase());
  {
    const std::string large(std::size_t{1} << 30, 'x');
    CHECK_THROWS_WITH_AS(connection.run("SELECT length($1)", postgres::Values().add(large)),
                         doctest::Contains("1024 MiB, and a database takes less"), postgres::Error);
  }
  CHECK(connection.run("SELECT 7::int8").integer(0, 0) == 7);
}

TEST_CASE("store: events by number, by subject and by the beginning of subjects") {
  onBoth([](const Open& open) {
    const auto store = open();
    {
      const auto write = store->write();
      store->addBatch("one");
      store->addEvents({{1, "climb/C-0002", "t", "Mo", "a"},
                        {2, "H-1", "t", "Mo", "b"},
                        {3, "climb/C-0001", "t", "Mo", "c"}});
      store->addBatch("two");
      store->addEvents({{4, "climb/C-0002", "t", "Mo", "d"}, {5, "climc", "t", "Mo", "e"}});
      write->commit();
    }
    CHECK(store->lastEvent() == 5);
    CHECK(store->batches() == std::vector<std::string>{"one", "two"});
    CHECK(store->lastBatch() == "two");
    CHECK(store->subjects("climb/") == std::vector<std::string>{"climb/C-0001", "climb/C-0002"});
    CHECK(store->countEventsOf("climb/C-0002") == 2);
    std::string bodies;
    store->forEachEvent([&](const EventRow& event) { bodies += event.body; });
    CHECK(bodies == "abcde");
    bodies.clear();
    store->forEachEventOf("climb/C-0002", [&](const EventRow& event) {
      bodies += std::to_string(event.number) + std::string(event.body);
    });
    CHECK(bodies == "1a4d");
  });
}

TEST_CASE("store: what is not committed was never there, and a number is given once") {
  onBoth([](const Open& open) {
    const auto store = open();
    {
      const auto write = store->write();
      store->addEvents({{1, "H-1", "t", "Mo", "a"}});
      store->putHolds({row("H-1", "a", "a")});
      CHECK(store->hasHold("H-1"));  // To the one that writes.
      CHECK_FALSE(open()->hasHold("H-1"));
    }
    CHECK(store->lastEvent() == 0);
    CHECK_FALSE(store->hasHold("H-1"));
    {
      const auto write = store->write();
      store->addEvents({{1, "H-1", "t", "Mo", "a"}});
      write->commit();
    }
    {
      const auto write = store->write();
      CHECK_THROWS_AS(store->addEvents({{1, "H-1", "t", "Mo", "b"}}), StoreError);
    }
    CHECK(store->lastEvent() == 1);  // Goes on working after an error.
  });
}

TEST_CASE("store: one writes at a time, and reads what the one before left") {
  onBoth([](const Open& open) {
    open();  // Makes the tables.
    constexpr int kThreads = 4, kEach = 25;
    std::array<std::thread, kThreads> threads;
    for (auto& thread : threads)
      thread = std::thread([&] {
        const auto store = open();
        for (int i = 0; i < kEach; ++i) {
          const auto write = store->write();
          const std::int64_t next = store->lastEvent() + 1;
          store->addEvents({{next, "H-1", "t", "Mo", "x"}});
          write->commit();
        }
      });
    for (auto& thread : threads) thread.join();
    CHECK(open()->lastEvent() == kThreads * kEach);
  });
}

TEST_CASE("store: a walk over all holds is of one moment, and others may be asked meanwhile") {
  onBoth([](const Open& open) {
    const auto store = open(), other = open();
    std::vector<std::string> ids;
    for (int i = 0; i < 1200; ++i) ids.push_back("H-" + std::to_string(i));
    std::vector<HoldRow> rows;
    for (const std::string& id : ids) rows.push_back(row(id, "a", "a"));
    {
      const auto write = store->write();
      store->putHolds(rows);
      write->commit();
    }
    int seen = 0, changed = 0;
    store->forEachHold(LibraryStore::HoldPart::All, [&](const HoldRow& hold) {
      if (++seen == 10) {
        std::vector<HoldRow> renamed = rows;
        for (HoldRow& r : renamed) r.name = "b";
        const auto write = other->write();
        other->putHolds(renamed);
        write->commit();
      }
      changed += hold.name == "b";
      if (seen % 400 == 0) CHECK(store->hasHold(std::string(hold.id)));
    });
    CHECK(seen == 1200);
    CHECK(changed == 0);
    CHECK(namesOf(*store).front() == "1 H-0 b");
  });
}

TEST_CASE("store: a moment is read as it was, while others write") {
  onBoth([](const Open& open) {
    const auto reader = open(), writer = open();
    const auto add = [&](std::int64_t number) {
      const auto write = writer->write();
      writer->addBatch("batch " + std::to_string(number));
      writer->addEvents({{number, "H-1", "2026-01-02", "clerk", "body"}});
      write->commit();
    };
    add(1);
    {
      const auto moment = reader->moment();
      add(2);
      CHECK(reader->lastEvent() == 1);
      CHECK(reader->batches().size() == 1);
      int events = 0;
      reader->forEachEvent([&](const EventRow&) { ++events; });
      CHECK(events == 1);
      CHECK(reader->damage().empty());
    }
    CHECK(reader->lastEvent() == 2);
    const auto write = reader->write();  // None of it is left open.
    reader->addBatch("batch 3");
    write->commit();
    CHECK(writer->batches().size() == 3);
  });
}

TEST_CASE("store: what was there before it is cleared is kept aside, once more each time") {
  onBoth([](const Open& open) {
    const auto store = open();
    std::set<std::string> kept;
    for (std::int64_t number = 1; number <= 2; ++number) {
      {
        const auto write = store->write();
        store->addEvents({{number, "H-1", "2026-01-02", "clerk", "body"}});
        write->commit();
      }
      const auto write = store->write();
      kept.insert(store->keepAside());
      store->clear();
      write->commit();
      CHECK(store->lastEvent() == 0);
    }
    CHECK(kept.size() == 2);
  });
}
