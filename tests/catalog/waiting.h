// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <chrono>
#include <filesystem>
#include <fstream>
#include <string>
#include <thread>

#include "tests/catalog/temp_folder.h"

namespace holdshelf::test {

/// Waits for what another thread or process brings about; ten seconds at most. @return  It has.
template <typename Condition>
bool comesTrue(const Condition& condition) {
  for (int i = 0; i < 1000; ++i) {
    if (condition()) return true;
    std::this_thread::sleep_for(std::chrono::milliseconds(10));
  }
  return condition();
}

inline bool appears(const std::filesystem::path& file) {
  return comesTrue([&] { return std::filesystem::exists(file); });
}

/// A shell script that stands for the program; its words are in "$@", it runs in the folder.
inline std::filesystem::path shellProgram(const TempFolder& folder, const std::string& shell) {
  const std::filesystem::path script = folder / "program.sh";
  std::ofstream(script) << "#!/bin/sh\ncd '" << folder.path().string() << "'\n" << shell << "\n";
  std::filesystem::permissions(script, std::filesystem::perms::owner_all);
  return script;
}

/// Shell: says in the file `begun` that it has begun, and waits for the file `go`, half a minute
/// at most.
constexpr const char* kHeld =
    ": > begun\nfor i in $(seq 600); do [ -e go ] && break; sleep 0.05; done\n";

}  // namespace holdshelf::test
