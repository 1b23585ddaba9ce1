// SPDX-License-Identifier: Apache-2.0
// Acceptance after VDI/VDE 2634 parts 2 and 3 (see tests/photobooth/acceptance.h), on rendered
// photographs of a plate of balls and flats:
//   acceptance_bench photos DIR          Photographs the plate in three positions on an A4
//   and, 1.75
//                                        times as large, on an A3 mat, rebuilds each and judges
//                                        all. What is there is kept, so an interrupted run goes on.
//   acceptance_bench render DIR | rebuild DIR | judge DIR    One step of it.
//   acceptance_bench CAPTURE_DIR MESH.ply [REPORT.json]      One mesh of any artefact.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <exception>
#include <filesystem>
#include <string>
#include <vector>

#include "capture/mat_file.h"
#include "capture/rebuild.h"
#include "mesh/mesh_io.h"
#include "tests/photobooth/acceptance.h"
#include "tests/photobooth/booth.h"
#include "tests/photobooth/capture_truth.h"
#include "tests/photobooth/score.h"

using namespace holdshelf;
namespace fs = std::filesystem;

namespace {

/// The largest of each quantity, mm, and at how many positions it was read.
struct Worst {
  double form = 0, size = 0, spacing = 0, flatness = 0, rejected = 0;
  int balls = 0, pairs = 0, flats = 0;

  void take(const Acceptance& a) {
    for (std::size_t i = 0; i < a.balls.size(); ++i) {
      form = std::max(form, a.balls[i].form_mm);
      size = std::max(size, std::abs(a.size_mm[i]));
      rejected = std::max(rejected, a.balls[i].rejected);
    }
    for (double s : a.spacing_mm) spacing = std::max(spacing, std::abs(s));
    for (const FlatFit& flat : a.flats) {
      flatness = std::max(flatness, flat.form_mm);
      rejected = std::max(rejected, flat.rejected);
    }
    balls += static_cast<int>(a.balls.size());
    pairs += static_cast<int>(a.spacing_mm.size());
    flats += static_cast<int>(a.flats.size());
  }

  void print(const std::string& name) const {
    std::printf("| %s | %.3f | %.3f | %.3f | %.3f | %d, %d, %d | %.2f %% |\n", name.c_str(), form,
                size, spacing, flatness, balls, pairs, flats, 100 * rejected);
  }
};

Acceptance judged(const fs::path& capture, const fs::path& mesh_file, const fs::path& report) {
  const Artefact artefact = artefactNamed(shapeInCapture(capture));
  const TriangleMesh mesh = readMesh(mesh_file);
  const TruthFit fit = fitToTruth(mesh, truthFromReport(report), artefact.body, false);
  return acceptArtefact(mesh, fit.T_truth_mesh, artefact);
}

void printAll(const Acceptance& a) {
  for (std::size_t i = 0; i < a.balls.size(); ++i)
    std::printf("ball %zu  PF %.3f  PS %+.3f mm  points %d\n", i, a.balls[i].form_mm, a.size_mm[i],
                a.balls[i].points);
  for (double spacing : a.spacing_mm) std::printf("SD %+.3f mm\n", spacing);
  for (const FlatFit& flat : a.flats)
    std::printf("F %.3f mm  points %d\n", flat.form_mm, flat.points);
}

std::vector<std::string> positionsOn(const std::string& paper) {
  return {"accept-" + paper + "-0", "accept-" + paper + "-40", "accept-" + paper + "-80"};
}

void render(const fs::path& folder, const std::string& name, unsigned seed) {
  if (fs::exists(folder / name / "photos")) return;
  BoothOptions options;
  options.seed = options.stage.seed = options.mat.seed = options.rig.seed = seed;
  options.mat.paper = name.find("-a3-") != std::string::npos ? "A3" : "A4";
  options.mat.bend_mm = 0.3;
  options.mat.flat_radius_mm = options.mat.paper == "A3" ? 175 : 100;  // The plate weighs it down.
  options.rig.photos = 36;
  options.lens.samples = 4;
  options.stage.paint.albedo_bgr = colourNamed("teal");  // A matt coat, as standards ask for.
  options.stage.paint.gloss = 0.1f;
  fs::create_directories(folder / name);
  photograph(artefactNamed(name).body, options, folder / name / "photos",
             [](const std::string&, double) { return true; });
  std::printf("%s photographed\n", name.c_str());
}

void rebuildOne(const fs::path& folder, const std::string& name) {
  if (fs::exists(folder / name / "report.json")) return;
  const fs::path photos = folder / name / "photos";
  const Rebuilt rebuilt = rebuild(photosIn(photos), readMat(photos / "mat.json"), {},
                                  [](const std::string&, double) { return true; });
  writePly(folder / name / "hold.ply", rebuilt.mesh);
  writeReport(folder / name / "report.json", rebuilt.report);
}

void runAll(const std::string& step, const fs::path& folder) {
  const bool all = step == "photos";
  unsigned seed = 60;
  for (const std::string paper : {"a4", "a3"})
    for (const std::string& name : positionsOn(paper)) {
      ++seed;
      if (all || step == "render") render(folder, name, seed);
      if (all || step == "rebuild") rebuildOne(folder, name);
    }
  if (!all && step != "judge") return;
  std::printf("| capture | PF | PS | SD | F | balls, pairs, flats | rejected |\n");
  std::printf("|---|---|---|---|---|---|---|\n");
  for (const std::string paper : {"a4", "a3"}) {
    Worst on_paper;
    for (const std::string& name : positionsOn(paper)) {
      const fs::path place = folder / name;
      const Acceptance a = judged(place / "photos", place / "hold.ply", place / "report.json");
      Worst here;
      here.take(a);
      here.print(name);
      on_paper.take(a);
    }
    on_paper.print("**" + paper + ", worst**");
  }
}

}  // namespace

int main(int argc, char** argv) {
  const std::string step = argc > 1 ? argv[1] : "";
  const bool steps =
      argc == 3 && (step == "photos" || step == "render" || step == "rebuild" || step == "judge");
  if (!steps && (argc < 3 || argc > 4)) {
    std::fprintf(stderr,
                 "usage: acceptance_bench photos|render|rebuild|judge DIR\n"
                 "       acceptance_bench CAPTURE_DIR MESH.ply [REPORT.json]\n");
    return 2;
  }
  try {
    if (steps)
      runAll(step, argv[2]);
    else
      printAll(judged(argv[1], argv[2], argc > 3 ? argv[3] : ""));
  } catch (const std::exception& e) {
    std::fprintf(stderr, "acceptance_bench: %s\n", e.what());
    return 1;
  }
}
