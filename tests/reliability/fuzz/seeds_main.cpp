// SPDX-License-Identifier: Apache-2.0
// fuzz_seeds FOLDER: writes every target's seeds to FOLDER/TARGET/seed-N.
#include <cstdio>
#include <fstream>

#include "tests/reliability/fuzz/target.h"

int main(int argc, char** argv) {
  namespace fs = std::filesystem;
  if (argc != 2) return 2;
  for (const auto* target : holdshelf::test::fuzzTargets()) {
    const fs::path folder = fs::path(argv[1]) / target->name;
    fs::create_directories(folder);
    int number = 0;
    std::vector<std::string> seeds = target->seeds();
    for (std::string& rough : target->rough_seeds()) seeds.push_back(std::move(rough));
    for (const std::string& seed : seeds) {
      std::ofstream out(folder / ("seed-" + std::to_string(++number)), std::ios::binary);
      out << seed;
    }
    std::printf("%s: %d seeds\n", target->name, number);
  }
}
