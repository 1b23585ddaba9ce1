// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

namespace holdshelf::test {

/// What one run of the program left.
struct ProgramRun {
  int status = -1;  ///< Exit status; 128 + signal when it was killed.
  std::string out, err;
};

/// Runs the program that was built beside the tests, with these arguments and no terminal.
/// @param interrupt_after_ms  Sends SIGINT after this long; 0: never.
ProgramRun runProgram(const std::vector<std::string>& arguments, int interrupt_after_ms = 0);

/// True when text is one line that ends in a full stop: one clear sentence.
bool isOneSentence(const std::string& text);

}  // namespace holdshelf::test
