// SPDX-License-Identifier: Apache-2.0
// wrong_captures_bench DIR [MISHAP ...]: rebuilds every mishap of the photobooth (and a good
// capture beside them) and prints what the rebuild said of it, as a table. Captures that are not in
// DIR yet are photographed into it first: 20 photos of 800 x 600. Draft quality, as one would check
// a capture.
#include <algorithm>
#include <cstdio>
#include <exception>
#include <string>

#include "capture/mat_file.h"
#include "capture/rebuild.h"
#include "mesh/bad_input.h"
#include "tests/photobooth/booth.h"
#include "tests/photobooth/capture_truth.h"
#include "tests/photobooth/mishap.h"
#include "tests/photobooth/score.h"

using namespace holdshelf;
namespace fs = std::filesystem;

namespace {

std::string shapeFor(const std::string& mishap) {
  return mishap == "overhanging" ? "volume" : "edge";
}

void photographOnce(const std::string& mishap, const fs::path& folder) {
  if (fs::exists(folder)) return;
  BoothOptions o;
  o.width_px = 800, o.height_px = 600;
  o.rig.photos = 20;
  o.seed = o.stage.seed = o.mat.seed = 31;
  o.mat.bend_mm = 0.5;
  if (mishap != "good") letGoWrong(mishap, o);
  photograph(holdNamed(shapeFor(mishap)), o, folder, nullptr);
}

/// The sentences of a report: reasons (the first, and how many more), warnings, advice.
std::string answer(const CaptureReport& report) {
  std::string text, first;
  int refused = 0;
  for (const PhotoReport& photo : report.photos())
    if (photo.verdict() != PhotoReport::USED && ++refused == 1) first = photo.reason();
  const auto add = [&](const std::string& sentence) {
    text += (text.empty() ? "" : " ") + sentence;
  };
  if (refused > 0) add(first);
  if (refused > 1) add("(and " + std::to_string(refused - 1) + " more photos)");
  for (const std::string& warning : report.warnings()) add(warning);
  for (const std::string& advice : report.advice()) add(advice);
  return text.empty() ? "(nothing said)" : text;
}

void row(const std::string& mishap, const fs::path& folder) {
  photographOnce(mishap, folder);
  try {
    RebuildOptions options;
    options.quality = Quality::Draft;
    options.scale_from_sheet = true;  // As the program does where no --mat-scale is given.
    const Rebuilt rebuilt = rebuild(photosIn(folder), readMat(folder / "mat.json"), options,
                                    [](const std::string&, double) { return true; });
    const auto& photos = rebuilt.report.photos();
    const auto used = std::count_if(photos.begin(), photos.end(), [](const PhotoReport& p) {
      return p.verdict() == PhotoReport::USED;
    });
    const ExactHold hold = holdNamed(shapeFor(mishap));
    const TruthFit fit = fitToTruth(rebuilt.mesh, truthFromReport(rebuilt.report), hold, false);
    const Score score = scoreSurface(rebuilt.mesh, fit.T_truth_mesh, hold);
    std::printf("| %s | %ld of %d | %s | %.3f / %.3f |\n", mishap.c_str(), long(used),
                photos.size(), answer(rebuilt.report).c_str(), score.median_mm, score.p95_mm);
  } catch (const BadInput& refusal) {
    std::printf("| %s | refused | %s | |\n", mishap.c_str(), refusal.what());
  }
  std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2) {
    std::fprintf(stderr, "usage: wrong_captures_bench DIR [MISHAP ...]\n");
    return 2;
  }
  try {
    std::vector<std::string> wanted(argv + 2, argv + argc);
    if (wanted.empty()) {
      wanted.push_back("good");
      for (const Mishap& m : mishaps()) wanted.push_back(m.name);
    }
    std::printf(
        "| mishap | photos used | what the report says | fitted, median / 95 %% |\n"
        "|---|---|---|---|\n");
    for (const std::string& mishap : wanted) row(mishap, fs::path(argv[1]) / mishap);
  } catch (const std::exception& e) {
    std::fprintf(stderr, "wrong_captures_bench: %s\n", e.what());
    return 1;
  }
}
