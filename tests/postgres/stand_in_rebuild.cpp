// SPDX-License-Identifier: Apache-2.0
// Stands in for the rebuild of a capture, called as `holdshelf work` calls it:
//   stand_in_rebuild desk --parent PID rebuild FOLDER LIBRARY
// The first photo's bytes say what happens: "hold NAME" leaves a finished scan,
// "bad SENTENCE" fails for ever, "away SENTENCE" met no database, "crash" dies, "slow SECONDS"
// takes its time first (further words follow). What the real rebuild does is tested elsewhere; here
// it would take minutes a capture.
#include <chrono>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <sstream>
#include <string>
#include <thread>

#include "catalog/blob_store.h"
#include "catalog/child_process.h"
#include "catalog/finished_files.h"

namespace fs = std::filesystem;
using namespace holdshelf;

int main(int argc, char** argv) {
  if (argc != 7) return 2;
  becomeWorker(std::atoi(argv[3]));
  const fs::path folder = argv[5];
  std::istringstream words(readFile(folder / "photo-01.jpg"));
  std::string word;
  while (words >> word) {
    if (word == "slow") {
      double seconds = 0;
      words >> seconds;
      std::this_thread::sleep_for(std::chrono::duration<double>(seconds));
    } else if (word == "crash") {
      std::raise(SIGKILL);  // An abort would be a report of AddressSanitizer (tests/run.sh).
    } else if (word == "bad" || word == "away") {
      const bool bad = word == "bad";
      std::string sentence;
      std::getline(words >> std::ws, sentence);
      std::printf("%s %s\n", bad ? "failed" : "unavailable", sentence.c_str());
      return bad ? 0 : 1;
    } else if (word == "hold") {
      ReadyScan ready;
      words >> word;
      ready.finished.scan.mutable_shape()->mutable_protrusion_mm()->set_value(20);
      ready.finished.mesh_ply = "the mesh of " + word;
      ready.finished.mesh_glb = "its view";
      ready.finished.contact_sheet_png = "its photos";
      ready.finished.thumbnail_png = "its picture";
      writeFinished(folder, ready);
      return 0;
    }
  }
  return 3;
}
