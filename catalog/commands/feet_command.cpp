// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <list>
#include <memory>
#include <set>
#include <vector>

#include "catalog/commands/command.h"
#include "catalog/commands/grip_options.h"
#include "catalog/feet.h"
#include "catalog/hold_record.h"
#include "catalog/library.h"
#include "catalog/verdict_text.h"

namespace holdshelf {
namespace {

struct FeetOptions {
  std::filesystem::path library;
  GripOptions grips;
  std::vector<std::string> bins, sets;
  int limit = 20;
  bool all = false;
};

bool listed(const std::vector<std::string>& wanted, const std::string& value) {
  return wanted.empty() || std::find(wanted.begin(), wanted.end(), value) != wanted.end();
}

void feet(const FeetOptions& options, Console& console) {
  const Library library = Library::open(options.library);
  std::list<Shape> shapes;  // Stay where they are while candidates point at them.
  std::vector<FootCandidate> candidates;
  library.forEachHold([&](std::int64_t, const Hold& hold) {
    const Scan* scan = currentScan(hold);
    if (!scan || hold.status() == RETIRED || !listed(options.bins, hold.bin()) ||
        !listed(options.sets, hold.set()))
      return;
    shapes.push_back(scan->shape());
    candidates.push_back({hold.id(), hold.name(), hold.bin(), &shapes.back()});
  });
  FootRanking ranking = rankFeet(candidates, options.grips.mounting().wall_angle_deg,
                                 options.grips.handModel(), options.grips.gripThresholds());
  console.say(feetText(ranking, options.limit, options.all));
  console.result(ranking);
}

}  // namespace

void addFeetCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<FeetOptions>();
  CLI::App* command = app.add_subcommand(
      "feet", "Rank holds that serve a toe and give hands little, each at its best rotation");
  addLibraryOption(command, options->library);
  addGripOptions(command, options->grips, false);
  command->add_option("--bin", options->bins, "Bin; any of several")->type_name("BIN");
  command->add_option("--set", options->sets, "Set; any of several")->type_name("SET");
  command->add_option("--limit", options->limit, "Most holds to show; 0: all (20)")->type_name("N");
  command->add_flag("--all", options->all, "Also holds that do not qualify, and why");
  command->callback([options, &job] { job = [options](Console& c) { feet(*options, c); }; });
}

}  // namespace holdshelf
