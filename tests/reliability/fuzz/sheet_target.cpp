// SPDX-License-Identifier: Apache-2.0
#include "catalog/csv_import.h"
#include "catalog/library_csv.h"
#include "catalog/sheet_line.h"
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

std::vector<std::string> roughSeeds() {
  return {std::string(kSaidColumns) +
              "\n,New,B2,Reef,Us,dual,3,vivid red,wall,,cave,blue 6a,spins,\n"
              "H-0002,Old,B3,,,,2,dark grey,crate,K-1,,,dusty,1\n"
              "H-0003,Late,,,,,1,,retired,,,,,9\nH-0002,,,,,,,,,,,,,\n",
          "id\tstatus\tcrate\nH-0001\tcrate\t\"K\n1\"\n\tshelf\t\nH-0003\twash\t\n"};
}

const test::FuzzTarget target("sheet", take, seeds, roughSeeds);

}  // namespace
