// SPDX-License-Identifier: Apache-2.0
#include <memory>

#include "catalog/library_merge.h"
#include "tests/reliability/fuzz/filled_message.h"
#include "tests/reliability/fuzz/stored_library.h"
#include "tests/reliability/fuzz/target.h"

using namespace holdshelf;

namespace {

/// Where events may have their files from; the same ones for every input.
const Blobs& filesOfSeeds() {
  static const auto files = [] {
    auto made = std::make_unique<BlobStore>(test::memoryFolder("batch-blobs"));
    test::putFilesOfSeeds(*made);
    return made;
  }();
  return *files;
}

std::string batchWith(const std::vector<Event>& events) {
  Batch batch;
  batch.mutable_events()->Assign(events.begin(), events.end());
  return batch.SerializeAsString();
}

/// A batch file of another library, whose events are merged in for good, and used as ours are.
void take(const std::string& bytes) {
  Batch batch;
  if (!batch.ParseFromString(bytes)) throw BadInput("This is no batch.");
  MergeSource source;
  source.name = "other";
  source.events.assign(batch.events().begin(), batch.events().end());
  source.blobs = &filesOfSeeds();
  Library library = Library::openOrCreate(test::memoryFolder("batch"));
  (void)mergeInto(library, source, false, {});
  test::useAll(library);
}

std::vector<std::string> seeds() {
  Batch batch;
  Event& created = *batch.add_events();
  created.set_hold("H-0001");
  created.set_number(1);
  created.set_at("2026-03-01T18:00:00Z");
  created.mutable_created()->set_name("Shingle");
  Event& crate = *batch.add_events();
  crate.set_number(2);
  crate.set_at("2026-03-01T18:01:00Z");
  crate.set_subject("climb/C-0001");
  crate.mutable_climb();
  Event& note = *batch.add_events();
  note.set_hold("H-0001");
  note.set_number(3);
  note.set_at("2026-03-01T18:02:00Z");
  note.set_noted("spins");
  std::vector<std::string> all = {batch.SerializeAsString()};
  for (const auto& history : test::measuredHistories()) all.push_back(batchWith(history));
  return all;
}

std::vector<std::string> roughSeeds() {
  std::vector<std::string> all;
  for (const auto& history : test::historiesOfEveryChange()) all.push_back(batchWith(history));
  return all;
}

const test::FuzzTarget target("batch", take, seeds, roughSeeds);

}  // namespace
