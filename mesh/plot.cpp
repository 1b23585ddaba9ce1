// SPDX-License-Identifier: Apache-2.0
#include "mesh/plot.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "mesh/cut_plot.h"
#include "mesh/edge_run.h"
#include "mesh/rose_plot.h"
#include "mesh/section_plot.h"
#include "mesh/slope_plot.h"
#include "mesh/whole_file.h"

namespace holdshelf {

const Grip* bestGrip(const Shape& shape) {
  const Grip* best = nullptr;
  double merit = 0;
  for (const Grip& g : shape.grips()) {
    const double m = edgeMerit(g.edge_depth_mm().value(), g.incut_deg().value()) *
                     std::sqrt(std::min(64.0, g.edge_width_mm().value()));
    if (m > merit) merit = m, best = &g;
  }
  return best;
}

std::vector<std::filesystem::path> writePlots(const std::filesystem::path& folder,
                                              const std::string& name, const TriangleMesh& mesh,
                                              const Shape& shape,
                                              const std::vector<SectionChoice>& chosen) {
  std::error_code error;
  std::filesystem::create_directories(folder, error);
  std::vector<std::filesystem::path> files;
  const auto write = [&](const std::string& kind, const Plot& plot) {
    for (const auto& [extension, bytes] :
         {std::pair<const char*, const std::string&>(".svg", plot.svg), {".png", plot.png}}) {
      files.push_back(folder / (name + "-" + kind + extension));
      writeWhole(files.back(), bytes);
    }
  };
  std::vector<SectionChoice> choices = chosen;
  if (const Grip* best = bestGrip(shape); best && choices.empty())
    choices.push_back({best->rotation_deg(), std::nullopt});
  for (const SectionChoice& choice : choices) {
    char kind[64];
    if (choice.offset_mm)
      std::snprintf(kind, sizeof kind, "section-%03.0f-%.1f-%s", choice.rotation_deg,
                    std::abs(*choice.offset_mm), *choice.offset_mm < 0 ? "left" : "right");
    else
      std::snprintf(kind, sizeof kind, "section-%03.0f", choice.rotation_deg);
    write(kind, plotSection(shape, choice.rotation_deg, choice.offset_mm));
  }
  if (shape.sections_size() >= 8) write("rose", plotRose(shape));
  write("slope", plotSlope(mesh));
  for (int i = 0; i < shape.cuts_size(); ++i)
    write("cut-" + std::to_string(i + 1), plotCut(shape.cuts(i)));
  return files;
}

}  // namespace holdshelf
