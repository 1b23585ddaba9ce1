// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

namespace holdshelf::test {

/// One door through which bytes from outside come in, for libFuzzer and for the replay in the test
/// run. Each *_target.cpp makes one at start-up, as a static object of its own.
struct FuzzTarget {
  const char* name;
  /// Takes any bytes. Lets BadInput through and nothing else; aborts where an answer breaks a
  /// promise that can be seen from outside.
  std::function<void(const std::string&)> take;
  /// Valid input that the fuzzer starts from.
  std::function<std::vector<std::string>()> seeds;
  /// Input that comes far and may be refused in the end, for the fuzzer to start from too.
  std::function<std::vector<std::string>()> rough_seeds;

  FuzzTarget(
      const char* target_name, std::function<void(const std::string&)> taker,
      std::function<std::vector<std::string>()> seed_maker,
      std::function<std::vector<std::string>()> rough_seed_maker = [] {
        return std::vector<std::string>();
      });
};

/// All that are linked in, by name.
const std::vector<const FuzzTarget*>& fuzzTargets();

/// Gives the bytes to the target. What is allowed: a result, or BadInput with one sentence of
/// bounded length. @throws std::logic_error  Any other exception, or a sentence that is none.
void takeBytes(const FuzzTarget& target, const std::string& bytes);

/// A file of testdata/.
std::string testdataFile(const std::string& name);

/// An empty folder of this process in memory, where the machine has such a place. The same one for
/// the same purpose, emptied.
std::filesystem::path memoryFolder(const std::string& purpose);

}  // namespace holdshelf::test
