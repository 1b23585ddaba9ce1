// SPDX-License-Identifier: Apache-2.0
#include "catalog/console.h"
#include "catalog/library_exchange.h"
#include "tests/catalog/temp_folder.h"
#include "tests/reliability/fuzz/filled_message.h"
#include "tests/reliability/fuzz/stored_library.h"
#include "tests/reliability/fuzz/target.h"

namespace fs = std::filesystem;
using namespace holdshelf;

namespace {

std::string listOf(const std::vector<Event>& events) {
  EventList list;
  list.mutable_events()->Assign(events.begin(), events.end());
  return toJson(list);
}

/// events.json of an exported folder, taken into an empty library for good: what was accepted has
/// to be usable and readable again.
void take(const std::string& bytes) {
  const fs::path folder = test::memoryFolder("exported");
  fs::create_directories(folder / "in");
  writeFileDurably(folder / "in" / "events.json", bytes);
  BlobStore blobs(folder / "in" / "blobs");
  test::putFilesOfSeeds(blobs);
  Library library = Library::openOrCreate(folder / "library");
  (void)importFolder(library, folder / "in", false, {});
  test::useAll(library);
  exportLibrary(library, folder / "out", {});
}

std::vector<std::string> seeds() {
  const fs::path folder = test::memoryFolder("exported-seed");
  fs::create_directories(folder / "library");
  std::vector<std::string> all;
  {
    Library made = Library::openOrCreate(folder / "library");
    std::vector<Event> events(4);
    events[0].mutable_created()->set_name("Shingle");
    events[1].set_hold("H-0001");
    events[1].set_noted("spins");
    events[2].set_hold("H-0001");
    events[2].mutable_moved()->set_status(SHELF);
    events[3].set_hold("H-0001");
    events[3].mutable_edited()->add_fields("bin");
    events[3].mutable_edited()->set_bin("A1");
    made.commit(events);
    events.clear();
    made.forEachEvent([&](const Event& event) { events.push_back(event); });
    all.push_back(listOf(events));
  }
  fs::remove_all(folder);
  for (const auto& history : test::measuredHistories()) all.push_back(listOf(history));
  return all;
}

std::vector<std::string> roughSeeds() {
  std::vector<std::string> all;
  for (const auto& history : test::historiesOfEveryChange()) all.push_back(listOf(history));
  return all;
}

const test::FuzzTarget target("exported", take, seeds, roughSeeds);

}  // namespace
