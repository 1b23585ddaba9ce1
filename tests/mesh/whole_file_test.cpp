// SPDX-License-Identifier: Apache-2.0
// What a failing disk does to it: tests/reliability/durability/whole_file_test.cpp.
#include "mesh/whole_file.h"

#include <doctest/doctest.h>

#include "mesh/bad_input.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using holdshelf::test::TempFolder;
namespace fs = std::filesystem;

TEST_CASE("whole file: what was written is read, of any length, and replaces what was there") {
  TempFolder folder;
  const fs::path file = folder / "f";
  for (const std::size_t size : {0UL, 1UL, 65'535UL, 65'536UL, 65'537UL, 1'000'000UL}) {
    CAPTURE(size);
    std::string bytes(size, 'x');
    for (std::size_t i = 0; i < size; ++i) bytes[i] = static_cast<char>(i * i % 251);
    writeFileDurably(file, bytes);
    CHECK(readFile(file) == bytes);
    CHECK(fileHolds(file, bytes));
    CHECK_FALSE(fileHolds(file, bytes + "x"));
    if (size == 0) continue;
    std::string other = bytes;
    other.back() ^= 1;  // Of the same length.
    CHECK_FALSE(fileHolds(file, other));
    writeWhole(file, other);
    CHECK(readFile(file) == other);
  }
  CHECK(std::distance(fs::directory_iterator(folder.path()), {}) == 1);
}

TEST_CASE("whole file: what is not there, a folder, what cannot be written") {
  TempFolder folder;
  CHECK_THROWS_WITH_AS(readFile(folder / "none"), doctest::Contains("no such file"), BadInput);
  CHECK_FALSE(readFileIfThere(folder / "none"));
  CHECK_FALSE(fileHolds(folder / "none", ""));
  CHECK_THROWS_WITH_AS(readFile(folder.path()), doctest::Contains("is a folder"), BadInput);
  CHECK_FALSE(fileHolds(folder.path(), ""));
  writeWhole(folder / "f", "bytes");
  CHECK_FALSE(readFileIfThere(folder / "f" / "below"));
  CHECK_THROWS_AS(writeWhole(folder / "none" / "f", "bytes"), BadInput);
  CHECK_THROWS_AS(writeFileDurably(folder / "none" / "f", "bytes"), std::system_error);
  fs::create_directories(folder / "full" / "in it");
  CHECK_THROWS_AS(writeWhole(folder / "full", "bytes"), BadInput);
  CHECK(std::distance(fs::directory_iterator(folder.path()), {}) == 2);
}
