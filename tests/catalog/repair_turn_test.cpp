// SPDX-License-Identifier: Apache-2.0
#include "catalog/repair_turn.h"

#include <doctest/doctest.h>

#include <fstream>

#include "mesh/bad_input.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using holdshelf::test::TempFolder;
namespace fs = std::filesystem;

TEST_CASE("RepairTurn: one at a time, and the next when it has ended") {
  TempFolder folder;
  {
    const RepairTurn turn(folder.path());
    CHECK_THROWS_AS(RepairTurn(folder.path()), BadInput);
    CHECK_NOTHROW(RepairTurn(folder / "none"));
    CHECK_NOTHROW(RepairTurn("postgres://somebody@nowhere/holds"));
  }
  CHECK_NOTHROW(RepairTurn(folder.path()));
}

TEST_CASE("RepairTurn: whether the database is the one that was there") {
  TempFolder folder;
  const fs::path file = folder / "holdshelf.sqlite", log = folder / "holdshelf.sqlite-wal";
  RepairTurn turn(folder.path());
  CHECK(turn.isAsNoted());
  std::ofstream(file) << "one";
  CHECK_FALSE(turn.isAsNoted());
  turn.noteDatabase();
  CHECK(turn.isAsNoted());
  std::ofstream(folder / "beside") << "another";
  fs::rename(folder / "beside", file);
  CHECK_FALSE(turn.isAsNoted());
  turn.noteDatabase();
  std::ofstream(log) << "somebody works on it";
  CHECK_FALSE(turn.isAsNoted());
  fs::remove(log);
  CHECK(turn.isAsNoted());
  fs::remove(file);
  CHECK_FALSE(turn.isAsNoted());
}
