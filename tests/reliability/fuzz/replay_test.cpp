// SPDX-License-Identifier: Apache-2.0
// What fuzzing found and kept, given to the same targets again in every test run; no fuzzer is
// needed.
#include <doctest/doctest.h>

#include <algorithm>
#include <set>

#include "capture/photo.h"
#include "catalog/blob_store.h"
#include "mesh/bad_input.h"
#include "tests/reliability/fuzz/target.h"

using namespace holdshelf;
using namespace holdshelf::test;
namespace fs = std::filesystem;

namespace {

/// Inputs of a target below `corpus` or `regressions`, in order of name.
std::vector<fs::path> keptInputs(const char* kind, const std::string& target) {
  std::vector<fs::path> files;
  const fs::path folder = fs::path(HOLDSHELF_SOURCE_DIR "/tests/reliability/fuzz") / kind / target;
  if (fs::exists(folder))
    for (const auto& entry : fs::directory_iterator(folder)) files.push_back(entry.path());
  std::sort(files.begin(), files.end());
  return files;
}

}  // namespace

TEST_CASE("fuzz: every target that is written is here, and every kept input has its target") {
  std::set<std::string> here, written;
  for (const FuzzTarget* target : fuzzTargets()) here.insert(target->name);
  const fs::path folder = HOLDSHELF_SOURCE_DIR "/tests/reliability/fuzz";
  const std::string ending = "_target";
  for (const auto& entry : fs::directory_iterator(folder)) {
    const std::string stem = entry.path().stem().string();
    if (entry.path().extension() == ".cpp" && stem.ends_with(ending))
      written.insert(stem.substr(0, stem.size() - ending.size()));
  }
  CHECK(here == written);
  for (const char* kind : {"regressions", "corpus"})
    for (const auto& entry : fs::directory_iterator(folder / kind)) {
      CAPTURE(entry.path().string());
      CHECK(here.count(entry.path().filename().string()) == 1);
    }
}

TEST_CASE("fuzz: every target reads its seeds, and they are no refusals") {
  for (const FuzzTarget* target : fuzzTargets()) {
    CAPTURE(std::string(target->name));
    const std::vector<std::string> seeds = target->seeds();
    CHECK_FALSE(seeds.empty());
    for (std::size_t i = 0; i < seeds.size(); ++i) {
      CAPTURE(i);
      CHECK_NOTHROW(target->take(seeds[i]));
    }
  }
}

TEST_CASE("fuzz: every target reads its rough seeds, or refuses them in a sentence") {
  for (const FuzzTarget* target : fuzzTargets()) {
    CAPTURE(std::string(target->name));
    const std::vector<std::string> seeds = target->rough_seeds();
    for (std::size_t i = 0; i < seeds.size(); ++i) {
      CAPTURE(i);
      CHECK_NOTHROW(takeBytes(*target, seeds[i]));
    }
  }
}

TEST_CASE(
    "fuzz: what broke a target once, or reached something new, is read or refused in a sentence") {
  for (const FuzzTarget* target : fuzzTargets())
    for (const char* kind : {"regressions", "corpus"})
      for (const fs::path& file : keptInputs(kind, target->name)) {
        CAPTURE(file.string());
        CHECK_NOTHROW(takeBytes(*target, readFile(file)));
      }
}

// PNG specification (third edition), 5.6: IHDR shall be first, and there is one.
TEST_CASE("fuzz: a PNG's first header counts, however small a later one says the picture is") {
  std::string sentence;
  try {
    (void)readPhoto(HOLDSHELF_SOURCE_DIR
                    "/tests/reliability/fuzz/regressions/photo/png-two-headers");
  } catch (const BadInput& refusal) {
    sentence = refusal.what();
  }
  CHECK(sentence.find("30000 x 30000 pixels") != std::string::npos);
}

TEST_CASE("fuzz: every seed cut off at any of a hundred places, and with any of its bytes turned") {
  for (const FuzzTarget* target : fuzzTargets()) {
    CAPTURE(std::string(target->name));
    const std::vector<std::string> seeds = target->seeds();
    const std::string& seed =
        *std::min_element(seeds.begin(), seeds.end(),
                          [](const auto& a, const auto& b) { return a.size() < b.size(); });
    const std::size_t step = std::max<std::size_t>(1, seed.size() / 100);
    for (std::size_t at = 0; at < seed.size(); at += step) {
      CAPTURE(at);
      CHECK_NOTHROW(takeBytes(*target, seed.substr(0, at)));
      std::string turned = seed;
      turned[at] = static_cast<char>(~turned[at]);
      CHECK_NOTHROW(takeBytes(*target, turned));
    }
  }
}
