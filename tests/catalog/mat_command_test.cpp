// SPDX-License-Identifier: Apache-2.0
#include <doctest/doctest.h>

#include <filesystem>

#include "capture/mat_file.h"
#include "capture/printed_mat.h"
#include "tests/catalog/run_program.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;

TEST_CASE("holdshelf mat: the PDF and a description that reads back as the same mat") {
  const test::TempFolder folder;
  const auto pdf = folder.path() / "new" / "gym.pdf";
  const auto run = test::runProgram({"mat", "--paper", "A3", "--out", pdf.string()});
  CHECK(run.status == 0);
  REQUIRE(std::filesystem::exists(pdf));
  CHECK(std::filesystem::file_size(pdf) == makeMat("A3").pdf.size());
  const Mat mat = readMat(folder.path() / "new" / "gym.json");
  CHECK(mat.SerializeAsString() == makeMat("A3").mat.SerializeAsString());
}

TEST_CASE("holdshelf mat: what can't be made gets one sentence and leaves nothing") {
  const test::TempFolder folder;
  for (const auto& [paper, name] : {std::pair("B5", "mat.pdf"), {"A4", "mat.png"}}) {
    CAPTURE(paper);
    const auto out = folder.path() / "new" / name;
    const auto run = test::runProgram({"mat", "--paper", paper, "--out", out.string()});
    CHECK(run.status == 1);
    CHECK(test::isOneSentence(run.err));
    CHECK_FALSE(std::filesystem::exists(out.parent_path()));
  }
}
