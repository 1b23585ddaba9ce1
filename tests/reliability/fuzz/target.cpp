// SPDX-License-Identifier: Apache-2.0
#include "tests/reliability/fuzz/target.h"

#include <google/protobuf/message_lite.h>
#include <unistd.h>

#include <algorithm>
#include <cstring>
#include <stdexcept>

#include "catalog/blob_store.h"
#include "mesh/bad_input.h"

namespace fs = std::filesystem;

namespace holdshelf::test {
namespace {

constexpr std::size_t kLongestSentence = 4000;

/// Filled by static objects of other files, so it has to be there before them.
std::vector<const FuzzTarget*>& registered() {
  static std::vector<const FuzzTarget*> targets;
  return targets;
}

/// Removes the process's folders when it ends.
struct MemoryRoot {
  fs::path path = (fs::exists("/dev/shm") ? fs::path("/dev/shm") : fs::temp_directory_path()) /
                  ("holdshelf-fuzz-" + std::to_string(::getpid()));
  ~MemoryRoot() {
    std::error_code ignored;
    fs::remove_all(path, ignored);
  }
};

}  // namespace

FuzzTarget::FuzzTarget(const char* target_name, std::function<void(const std::string&)> taker,
                       std::function<std::vector<std::string>()> seed_maker,
                       std::function<std::vector<std::string>()> rough_seed_maker)
    : name(target_name),
      take(std::move(taker)),
      seeds(std::move(seed_maker)),
      rough_seeds(std::move(rough_seed_maker)) {
  auto& all = registered();
  all.push_back(this);
  std::sort(all.begin(), all.end(), [](const FuzzTarget* a, const FuzzTarget* b) {
    return std::strcmp(a->name, b->name) < 0;
  });
}

const std::vector<const FuzzTarget*>& fuzzTargets() { return registered(); }

void takeBytes(const FuzzTarget& target, const std::string& bytes) {
  google::protobuf::SetLogHandler(nullptr);  // It prints a line for each text that is no UTF-8.
  try {
    target.take(bytes);
  } catch (const BadInput& refusal) {
    const std::string sentence = refusal.what();
    if (sentence.empty() || sentence.size() > kLongestSentence)
      throw std::logic_error("a sentence of " + std::to_string(sentence.size()) + " bytes");
  } catch (const std::exception& failure) {
    throw std::logic_error(std::string("not a sentence for people: ") + failure.what());
  }
}

std::string testdataFile(const std::string& name) {
  return readFile(fs::path(HOLDSHELF_SOURCE_DIR "/testdata") / name);
}

fs::path memoryFolder(const std::string& purpose) {
  static const MemoryRoot root;
  const fs::path folder = root.path / purpose;
  fs::remove_all(folder);
  fs::create_directories(folder);
  return folder;
}

}  // namespace holdshelf::test
