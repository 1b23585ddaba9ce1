// SPDX-License-Identifier: Apache-2.0
#include "catalog/commands/show_mounting.h"

#include <fstream>

#include "catalog/grip_map.h"
#include "catalog/grip_rose.h"
#include "catalog/grip_verdict.h"
#include "catalog/grip_words.h"
#include "catalog/verdict_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {

void showMounting(const Library& library, const std::string& id, const GripOptions& options,
                  Console& console) {
  const Mounting mounting = options.mounting();
  const Scan scan = library.currentFullScan(id);
  const GripModel model(scan.shape(), options.handModel(), options.gripThresholds());
  GripVerdict verdict = verdictAt(model, mounting);
  for (GripWord& word :
       gripWords(scan.shape(), model.thresholds(), mounting.wall_angle_deg, model.handSizes()))
    *verdict.add_words() = std::move(word);
  console.say(verdictText(verdict));
  console.result(verdict);
}

void writeGripRose(const Library& library, const std::string& id, const GripOptions& options,
                   const std::filesystem::path& file) {
  if (file.extension() != ".png" && file.extension() != ".svg")
    throw BadInput("--rose writes a .png or a .svg, not " + file.filename().string() + ".");
  const Scan scan = library.currentFullScan(id);
  const GripThresholds thresholds = options.gripThresholds();
  const GripModel model(scan.shape(), options.handModel(), thresholds);
  const Hold hold = library.hold(id);
  const std::string title = hold.name().empty() ? id : id + " " + hold.name();
  const auto draw = file.extension() == ".png" ? gripRosePng : gripRoseSvg;
  const std::string picture = draw(makeGripMap(model), title, thresholds);
  std::ofstream out(file, std::ios::binary);
  out << picture;
  if (!out.flush()) throw BadInput("The grip rose could not be written to " + file.string() + ".");
}

}  // namespace holdshelf
