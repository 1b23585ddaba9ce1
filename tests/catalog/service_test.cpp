// SPDX-License-Identifier: Apache-2.0
#include "catalog/service.h"

#include <doctest/doctest.h>

#include <atomic>
#include <future>
#include <thread>

#include "catalog/api.h"
#include "catalog/find.h"
#include "tests/catalog/climb_night.h"
#include "tests/catalog/evening.h"
#include "tests/catalog/temp_folder.h"
#include "tests/catalog/waiting.h"

using namespace holdshelf;
using namespace holdshelf::test;
namespace fs = std::filesystem;

namespace {

/// One more hold in a library, in a commit of its own.
void addHold(Library& library) {
  Event created;
  created.mutable_created()->set_count(1);
  library.commit({created});
}

}  // namespace

TEST_CASE("service: who sees the library as it was before is given the index as it is") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  addHold(library);
  Service service(folder / "l", "/bin/false");
  const Library early = Library::open(folder / "l");
  sqlite::Statement(early.database(), "BEGIN").run();
  REQUIRE(early.lastEvent() == 1);  // And stays so until the end of what was begun.
  addHold(library);
  const auto index = service.searchIndex(library);
  REQUIRE(early.lastEvent() == 1);
  CHECK(service.searchIndex(early) == index);
  addHold(library);
  CHECK(service.searchIndex(library) == index);  // Told of the one change.
  CHECK(index->size() == 3);
}

TEST_CASE("service: few wait for what takes long, and what is known needs no waiting") {
  TempFolder folder;
  const Library library = Library::openOrCreate(folder / "l");
  Service service(folder / "l", "/bin/false");
  const auto ask = [&](const std::string& question, const std::function<std::string()>& work) {
    return *service.slowAnswer(Library::open(folder / "l"), question, work);
  };
  CHECK(ask("known", [] { return "yes"; }) == "yes");
  std::promise<void> go;
  const std::shared_future<void> gone = go.get_future().share();
  std::atomic<int> begun = 0;
  std::vector<std::future<std::string>> askers;
  for (int i = 0; i < 8; ++i)
    askers.push_back(std::async(std::launch::async, [&, i] {
      return ask(std::to_string(i), [&] {
        ++begun;
        gone.wait();
        return std::string("done");
      });
    }));
  const bool all_begun = comesTrue([&] { return begun == 8; });
  CHECK(all_begun);
  for (const char* question : {"new", "0"}) {
    int status = 0;
    try {
      (void)ask(question, [] { return "too soon"; });
    } catch (const ApiError& busy) {
      status = busy.status();
    }
    CHECK(status == 503);
  }
  CHECK(ask("known", [] { return "anew"; }) == "yes");
  go.set_value();
  for (auto& asker : askers) CHECK(asker.get() == "done");
  CHECK(ask("new", [] { return "now"; }) == "now");
}

TEST_CASE("service: work on a long answer ends with the server") {
  TempFolder folder;
  (void)Library::openOrCreate(folder / "l");
  Service service(folder / "l", "/bin/false");
  const Progress go_on = service.untilTheEnd();
  CHECK(go_on("looking", 0.5));
  service.events.close();
  CHECK_FALSE(go_on("looking", 0.5));
}

TEST_CASE("service: each long answer is such work") {
  Evening evening;
  evening.shelve("H-0001", "quay_crimp");
  addHolds(evening.library, "C-0001", {"H-0001"});
  Event again;  // The same scan, once more.
  again.set_hold("H-0001");
  *again.mutable_scanned() = evening.library.currentFullScan("H-0001");
  again.mutable_scanned()->set_id("again");
  evening.library.commit({again});
  Service service(evening.folder / "l", "/bin/false");
  service.events.close();
  for (const std::string path : {"twins", "wear", "stock", "climbs/C-0001/checks",
                                 "climbs/C-0001/swaps", "holds/H-0001/wear.glb"}) {
    CAPTURE(path);
    ApiRequest request;
    request.method = "GET";
    request.path = "/api/v1/" + path;
    request.query["hold"] = "H-0001";
    request.role = Role::Look;
    const ApiReply reply = answerApi(service, request);
    CHECK(reply.status == 503);
    CHECK(reply.body.find("is being ended") != std::string::npos);
  }
}

TEST_CASE("service: of many who ask while holds come in nobody has the index made anew") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  addHold(library);
  Service service(folder / "l", "/bin/false");
  const auto index = service.searchIndex(library);
  std::atomic<bool> done = false;
  std::atomic<int> others = 0;
  std::vector<std::thread> askers;
  for (int i = 0; i < 4; ++i)
    askers.emplace_back([&] {
      const Library mine = Library::open(folder / "l");
      while (!done) others += service.searchIndex(mine) != index;
    });
  for (int i = 0; i < 100; ++i) addHold(library);
  done = true;
  for (std::thread& asker : askers) asker.join();
  CHECK(others == 0);
  CHECK(service.searchIndex(library) == index);
  CHECK(index->size() == 101);
}

TEST_CASE("service: of a library that was made anew with less, so is the index") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  addHold(library);
  const auto batches = library.store().batches();
  std::vector<Event> events;
  library.forEachEvent([&](const Event& event) { events.push_back(event); });
  addHold(library);
  Service service(folder / "l", "/bin/false");
  REQUIRE(service.searchIndex(library)->size() == 2);
  library.restore(batches, events);
  CHECK(service.searchIndex(library)->size() == 1);
}

TEST_CASE("service: of a library that was made anew with the same events nothing read is kept") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  addHold(library, "H-0001", "B4");
  const auto batches = library.store().batches();
  std::vector<Event> events;
  library.forEachEvent([&](const Event& event) { events.push_back(event); });
  // A bit that turned, say.
  sqlite::Statement(library.database(), "UPDATE hold SET name = 'hnld H-0001'").run();
  Service service(folder / "l", "/bin/false");
  const auto index = service.searchIndex(library);
  const auto judged = service.judged(library, "H-0001", "midway");
  const auto answer = service.slowAnswer(library, "how", [] { return std::string("badly"); });
  service.announce();
  const std::int64_t told = service.events.last();
  Query query;
  query.set_text("hold");
  query.set_limit(5);
  REQUIRE(index->find(query).matched() == 0);
  REQUIRE(service.searchIndex(library) == index);
  REQUIRE(service.judged(library, "H-0001", "midway") == judged);

  library.restore(batches, events);
  CHECK(service.searchIndex(library)->find(query).matched() == 1);
  CHECK(service.judged(library, "H-0001", "midway") != judged);
  CHECK(*service.slowAnswer(library, "how", [] { return std::string("well"); }) == "well");
  service.announce();
  CHECK(service.events.last() == told + 1);
  addHold(library, "H-0002", "B4");
  CHECK(service.searchIndex(library)->size() == 2);
}

TEST_CASE("service: who announces a change is not to blame where the library is gone since") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");
  Service service(folder / "l", "/bin/false");
  service.announce();
  addHold(library);
  const std::int64_t told = service.events.last();
  fs::rename(folder / "l", folder / "gone");
  CHECK_NOTHROW(service.announce());
  CHECK(service.events.last() == told + 1);  // The listeners look for themselves.
  CHECK_NOTHROW(service.announceBeside());
  CHECK(service.events.last() == told + 2);
  fs::rename(folder / "gone", folder / "l");
  service.announce();
  service.announce();
  std::int64_t after = told + 2;
  CHECK(service.events.next(after, std::chrono::milliseconds(0)) ==
        "id: " + std::to_string(told + 3) + "\nevent: library\ndata: {\"lastEvent\":\"1\"}\n\n");
}
