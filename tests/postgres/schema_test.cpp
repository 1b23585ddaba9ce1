// SPDX-License-Identifier: Apache-2.0
// Shared libraries of every version there has been open and are brought up to date; newer ones are
// left exactly as they are. testdata/libraries/postgres/v1.sql is what pg_dump gave of a library
// that the program of that version had made of testdata/libraries/v2, with a capture in its queue.
#include <doctest/doctest.h>

#include "catalog/blob_store.h"
#include "catalog/capture_queue.h"
#include "catalog/climbs.h"
#include "catalog/library_check.h"
#include "catalog/postgres_pool.h"
#include "catalog/postgres_schema.h"
#include "catalog/postgres_store.h"
#include "tests/catalog/environment.h"
#include "tests/catalog/run_program.h"
#include "tests/catalog/temp_folder.h"
#include "tests/postgres/test_server.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

const char* const kLibraries = HOLDSHELF_SOURCE_DIR "/testdata/libraries/";

/// The files of that library, where the mark of shared files may be put beside them.
class CopiedFiles {
 public:
  CopiedFiles() {
    std::filesystem::copy(kLibraries + std::string("v2/blobs"), root_ / "blobs",
                          std::filesystem::copy_options::recursive);
  }
  std::string folder() const { return (root_ / "blobs").string(); }

 private:
  TempFolder root_;
};

/// All tables, columns and indexes, with what they are made of.
std::string schemaOf(const std::string& address) {
  postgres::Connection connection(address);
  std::string schema;
  for (const char* asked :
       {"SELECT format('%s.%s %s %s %s %s', attrelid::regclass, attname, atttypid::regtype, "
        "attnotnull, attstorage, attcollation::regcollation) FROM pg_attribute JOIN pg_class ON "
        "pg_class.oid = attrelid WHERE relnamespace = 'holdshelf'::regnamespace AND attnum > 0 AND "
        "relkind = 'r' ORDER BY 1",
        "SELECT indexdef FROM pg_indexes WHERE schemaname = 'holdshelf' ORDER BY 1"}) {
    const postgres::Rows rows = connection.run(asked);
    for (int row = 0; row < rows.size(); ++row) schema += rows.text(row, 0) + "\n";
  }
  return schema;
}

/// All rows of all tables, as one digest.
std::string contentsOf(const std::string& address) {
  postgres::Connection connection(address);
  std::string digests;
  for (const char* table : {"meta", "batch", "event", "hold", "blob", "capture"})
    digests +=
        connection
            .run(std::string("SELECT coalesce(md5(string_agg(t::text, '' ORDER BY t::text)), "
                             "'') FROM ") +
                 table + " AS t")
            .text(0, 0);
  return digests;
}

/// As a program of that version would have left it.
void makeLibraryOf(std::size_t version, const std::string& address) {
  postgres::Connection(address).execute(readFile(kLibraries + std::string("postgres/v1.sql")));
  postgres::Connection connection(address);
  for (std::size_t step = 1; step < version; ++step)
    connection.execute(kPostgresSteps.at(step).sql);
  connection.run("UPDATE meta SET value = $1 WHERE key = 'version'",
                 postgres::Values().add(std::to_string(version)));
}

}  // namespace

TEST_CASE("schema: a shared library of each version before is as a new one from then on") {
  REQUIRE_POSTGRES(server);
  const std::string fresh = server->newDatabase();
  { (void)Library::openOrCreate(fresh); }
  const std::string newest = schemaOf(fresh);
  REQUIRE(newest.find("hold_id_order") != std::string::npos);
  const CopiedFiles copied;
  const Environment files("HOLDSHELF_FILES", copied.folder());
  for (std::size_t version = 1; version < kPostgresSteps.size(); ++version) {
    CAPTURE(version);
    const std::string address = server->newDatabase();
    makeLibraryOf(version, address);
    CHECK(schemaOf(address) != newest);
    const Library library = Library::open(address);
    CHECK(library.size() == 2);
    CHECK(library.hold("H-0001").name() == "Shingle chip");
    CHECK(library.hold("H-0001").scans_size() == 1);
    CHECK(library.hold("H-0002").split_from() == "H-0001");
    CHECK(climbOf(library, "C-0001").holds(0).placement().row() == 2);
    CHECK(schemaOf(address) == newest);
    CHECK(checkLibrary(address, false, {}).faults().empty());
    // What is kept to search by was made anew from the events.
    CHECK(borrowConnection(address)
              ->run("SELECT count(*) FROM hold WHERE cardinality(marks) > 20")
              .integer(0, 0) == 2);
    const auto waiting = queueOf(library).claim("bench");
    REQUIRE(waiting);
    CHECK(waiting->intake().name() == "Pier crimp");
    CHECK(waiting->intake().mat().markers_size() > 0);
  }
}

TEST_CASE("schema: a newer shared library is refused in a sentence, and not a row of it touched") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase();
  makeLibraryOf(1, address);
  postgres::Connection(address).run(
      "UPDATE meta SET value = $1 WHERE key = 'version'",
      postgres::Values().add(std::to_string(PostgresStore::schemaVersion() + 1)));
  const std::string schema = schemaOf(address), contents = contentsOf(address);
  CHECK_THROWS_AS(Library::open(address), NewerLibrary);
  CHECK_THROWS_AS(checkLibrary(address, true, {}), NewerLibrary);
  for (const std::vector<std::string>& command :
       std::vector<std::vector<std::string>>{{"find", "-l", address},
                                             {"work", "--until-empty", "-l", address},
                                             {"queue", "list", "-l", address}}) {
    const ProgramRun run = runProgram(command);
    CAPTURE(run.err);
    CHECK(run.status == 1);
    CHECK(isOneSentence(run.err));
    CHECK(run.err.find("newer program") != std::string::npos);
  }
  CHECK(schemaOf(address) == schema);
  CHECK(contentsOf(address) == contents);
}
