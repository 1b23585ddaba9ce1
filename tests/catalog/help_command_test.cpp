// SPDX-License-Identifier: Apache-2.0
#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "tests/catalog/run_program.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
namespace fs = std::filesystem;

namespace {

std::string textOf(const fs::path& file) {
  std::ifstream stream(file);
  return (std::stringstream() << stream.rdbuf()).str();
}

}  // namespace

TEST_CASE("holdshelf help: a command, a command of a command, a guide") {
  const auto find = test::runProgram({"help", "find"});
  CHECK(find.status == 0);
  CHECK(find.out.find("--edge-depth FROM..TO") != std::string::npos);
  CHECK(find.out.find("**") == std::string::npos);
  const auto place = test::runProgram({"help", "climb", "place"});
  CHECK(place.out.find("holdshelf-climb-place - Record where a hold is mounted") !=
        std::string::npos);
  const auto clerk = test::runProgram({"help", "clerk"});
  CHECK(clerk.out.find("# The clerk") == 0);
  CHECK_MESSAGE(clerk.out.find(" photos/*.jpg\n") != std::string::npos, "what is typed stays");
  CHECK_MESSAGE(clerk.out.find("<!--") == std::string::npos, "what only a test reads is not shown");
  const auto photos = test::runProgram({"help", "photos"});
  CHECK_MESSAGE(photos.out.find(".jpg)") == std::string::npos, "no pictures on a terminal");
}

TEST_CASE("holdshelf help: what nobody wrote gets one sentence with the nearest page") {
  const auto run = test::runProgram({"help", "finds"});
  CHECK(run.status == 1);
  CHECK(run.err.find("did you mean \"find\"?") != std::string::npos);
}

TEST_CASE("holdshelf help: every command has a page, with every option that --help shows") {
  const test::TempFolder folder;
  REQUIRE(test::runProgram({"help", "--pages", folder.path().string()}).status == 0);
  const std::string overview = textOf(folder.path() / "holdshelf.1.md");
  int commands = 0;
  for (const auto& entry : fs::directory_iterator(folder.path())) {
    const std::string name = entry.path().filename().string();
    if (name.rfind("holdshelf-", 0) != 0 || name.find(".1.md") == std::string::npos) continue;
    ++commands;
    CAPTURE(name);
    std::string words = name.substr(10, name.find(".1.md") - 10);
    std::vector<std::string> arguments{words};
    if (const std::size_t dash = words.find('-'); dash != std::string::npos)
      arguments = {words.substr(0, dash), words.substr(dash + 1)};
    else
      CHECK(overview.find("**" + words + "**") != std::string::npos);
    arguments.push_back("--help");
    std::istringstream help(test::runProgram(arguments).out);
    const std::string page = textOf(entry.path());
    for (std::string line; std::getline(help, line);) {
      if (line.rfind("  --", 0) != 0) continue;
      const std::string option = line.substr(2, line.find_first_of(" ,", 2) - 2);
      CHECK_MESSAGE(page.find(option) != std::string::npos, option);
    }
  }
  CHECK(commands >= 34);
}
