// SPDX-License-Identifier: Apache-2.0
#include "mesh/file_piece.h"

#include <doctest/doctest.h>

#include <string>
#include <system_error>

#include "mesh/whole_file.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;

TEST_CASE("file piece: behind what is there, in place of what lay there before") {
  const test::TempFolder folder;
  const auto file = folder / "part";
  putPiece(file, 0, "abcd");
  putPiece(file, 4, "efgh");
  CHECK(readFile(file) == "abcdefgh");
  putPiece(file, 2, "C");
  CHECK(readFile(file) == "abC");
  putPiece(file, 0, "");
  CHECK(readFile(file).empty());
  const std::string large(5'000'000, 'x');
  putPiece(file, 0, large);
  CHECK(readFile(file) == large);
  CHECK_THROWS_AS(putPiece(folder / "none" / "part", 0, "a"), std::system_error);
}
