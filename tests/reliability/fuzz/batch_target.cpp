// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_merge.h"
#include "tests/reliability/fuzz/filled_message.h"
#include "tests/reliability/fuzz/target.h"

using namespace holdshelf;

namespace {

/// A batch file of another library, whose events are merged in (for good, and read again).
void take(const std::string& bytes) {
  Batch batch;
  if (!batch.ParseFromString(bytes)) throw BadInput("This is no batch.");
  const BlobStore none(test::memoryFolder("batch-blobs"));
  MergeSource source;
  source.name = "other";
  source.events.assign(batch.events().begin(), batch.events().end());
  source.blobs = &none;
  Library library = Library::openOrCreate(test::memoryFolder("batch"));
  (void)mergeInto(library, source, false, {});
  library.forEachHold([&](std::int64_t, const Hold& hold) { (void)library.history(hold.id()); });
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
  return {batch.SerializeAsString()};
}

std::vector<std::string> roughSeeds() {
  std::vector<std::string> all;
  for (const auto& history : test::historiesOfEveryChange()) {
    Batch batch;
    batch.mutable_events()->Assign(history.begin(), history.end());
    all.push_back(batch.SerializeAsString());
  }
  return all;
}

const test::FuzzTarget target("batch", take, seeds, roughSeeds);

}  // namespace
