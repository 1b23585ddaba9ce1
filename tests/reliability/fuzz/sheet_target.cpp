// SPDX-License-Identifier: Apache-2.0
#include "catalog/csv_import.h"
#include "catalog/library_csv.h"
#include "tests/reliability/fuzz/target.h"

using namespace holdshelf;

namespace {

Library& library() {
  static Library kept = [] {
    Library made = Library::openOrCreate(test::memoryFolder("sheet"));
    for (int i = 0; i < 3; ++i) {
      std::vector<Event> events(1);
      events[0].mutable_created()->set_name("Shingle");
      events[0].mutable_created()->set_status(SHELF);
      made.commit(events);
    }
    return made;
  }();
  return kept;
}

/// All of a sheet's way in but the last step, so that each input meets the same library.
void take(const std::string& bytes) {
  CsvImportOptions options;
  options.dry_run = true;
  (void)importCsv(library(), bytes, options);
}

std::vector<std::string> seeds() {
  return {"id,name,bin\nH-0001,\"a, \"\"b\"\"\",A1\n", "id;name;count\nH-0001;x;4\n",
          libraryCsv(library())};
}

const test::FuzzTarget target("sheet", take, seeds);

}  // namespace
