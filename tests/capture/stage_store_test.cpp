// SPDX-License-Identifier: Apache-2.0
#include "capture/stage_store.h"

#include <doctest/doctest.h>

#include <fstream>
#include <sstream>

#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
namespace fs = std::filesystem;

namespace {

std::vector<fs::path> filesIn(const fs::path& folder) {
  std::vector<fs::path> files;
  for (const auto& entry : fs::directory_iterator(folder)) files.push_back(entry.path());
  return files;
}

}  // namespace

TEST_CASE("StageStore: what was written is read, by the same inputs and stage only") {
  const test::TempFolder folder;
  const fs::path place = folder / "new";
  const StageStore store(place, "photos A");
  CHECK_FALSE(store.read("depth"));
  CHECK_FALSE(fs::exists(place));  // Asking makes nothing.
  const std::string bytes("with\0nul and \n", 14);
  store.write("depth", bytes);
  CHECK(store.read("depth") == bytes);
  CHECK(StageStore(place, "photos A").read("depth") == bytes);
  CHECK_FALSE(store.read("mesh"));
  CHECK_FALSE(StageStore(place, "photos B").read("depth"));
  CHECK_FALSE(store.with("draft").read("depth"));
  store.with("draft").write("depth", "other");
  CHECK(store.read("depth") == bytes);
  CHECK(StageStore(place, "photos A").with("draft").read("depth") == "other");
  CHECK(filesIn(place).size() == 2);  // Nothing beside the two stages.
}

TEST_CASE("StageStore: a cut or changed file counts as none") {
  const test::TempFolder folder;
  const StageStore store(folder.path(), "photos");
  store.write("mesh", "twelve bytes");
  const fs::path file = filesIn(folder.path()).at(0);
  std::stringstream text;
  text << std::ifstream(file).rdbuf();
  const std::string whole = text.str();
  for (std::size_t size = 0; size < whole.size(); ++size) {
    CAPTURE(size);
    std::ofstream(file, std::ios::binary) << whole.substr(0, size);
    CHECK_FALSE(store.read("mesh"));
  }
  for (std::size_t at = 0; at < whole.size(); ++at) {
    std::string changed = whole;
    changed[at] = char(changed[at] ^ 1);
    std::ofstream(file, std::ios::binary) << changed;
    CHECK_FALSE(store.read("mesh"));
  }
  std::ofstream(file, std::ios::binary) << whole;
  CHECK(store.read("mesh") == "twelve bytes");
}

TEST_CASE(
    "StageStore: none made, or a folder that can't be written to, keeps nothing and is fine") {
  const test::TempFolder folder;
  StageStore().write("mesh", "bytes");
  CHECK_FALSE(StageStore().read("mesh"));
  std::ofstream(folder / "file") << "in the way";
  const StageStore store(folder / "file", "photos");
  store.write("mesh", "bytes");
  CHECK_FALSE(store.read("mesh"));
}

TEST_CASE("trimStages: those used longest ago go first, other files stay") {
  const test::TempFolder folder;
  const StageStore store(folder.path(), "photos");
  for (const char* stage : {"a", "b", "c"}) store.write(stage, std::string(1000, 'x'));
  std::ofstream(folder / "notes.txt") << std::string(5000, 'x');
  std::ofstream(folder / "wall.stage2.jpg") << std::string(5000, 'x');
  const auto now = fs::file_time_type::clock::now();
  for (const fs::path& file : filesIn(folder.path()))
    fs::last_write_time(file, now - std::chrono::hours(1));
  CHECK(store.read("a"));  // Used now: the youngest.
  trimStages(folder.path(), 1100);
  CHECK(store.read("a"));
  CHECK_FALSE(store.read("b"));
  CHECK_FALSE(store.read("c"));
  CHECK(fs::exists(folder / "notes.txt"));
  CHECK(fs::exists(folder / "wall.stage2.jpg"));
}

TEST_CASE("filesFingerprint: changes with a byte, a name and the order") {
  const test::TempFolder folder;
  std::ofstream(folder / "a") << "one";
  std::ofstream(folder / "b") << "two";
  const std::string before = filesFingerprint({folder / "a", folder / "b"});
  CHECK(filesFingerprint({folder / "a", folder / "b"}) == before);
  CHECK(filesFingerprint({folder / "b", folder / "a"}) != before);
  std::ofstream(folder / "b") << "twp";
  CHECK(filesFingerprint({folder / "a", folder / "b"}) != before);
}
