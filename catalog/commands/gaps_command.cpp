// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <memory>

#include "catalog/commands/command.h"
#include "catalog/gaps.h"
#include "catalog/hold_record.h"
#include "catalog/library_place.h"
#include "catalog/show_text.h"
#include "catalog/wear.h"

namespace holdshelf {
namespace {

struct GapsOptions {
  std::filesystem::path library, targets, write;
  std::vector<std::string> sites;
  bool wear = false;
};

void gaps(const GapsOptions& options, Console& console) {
  const Library library = Library::open(options.library);
  std::filesystem::path file = options.targets;
  // The table that the head setter keeps with the library, if there is one.
  if (file.empty() && std::filesystem::exists(localFolderOf(options.library) / "targets.csv"))
    file = localFolderOf(options.library) / "targets.csv";
  std::vector<StockLine> targets;
  if (!file.empty()) targets = parseTargets(readFile(file), file.string());
  const Progress progress = console.progress();
  const auto worn = [&](const Hold& hold) {
    return options.wear && hold.scans_size() >= 2 &&
           wearOf(library, hold.id(), {}, progress).grade() != "none seen";
  };
  const StockReport report = stockOf(library, targets, worn, {}, [&](const Hold& hold) {
    return options.sites.empty() ||
           std::count(options.sites.begin(), options.sites.end(), standsAt(hold)) > 0;
  });
  console.endProgress();
  console.say(stockText(report));
  if (targets.empty())
    console.say(
        "No targets: --write-targets FILE writes this table to edit; kept as targets.csv in the "
        "library's folder it is used from then on.\n");
  if (!options.write.empty()) {
    writeFileDurably(options.write, targetsCsv(report));
    console.say("Wrote " + options.write.string() + ".\n");
  }
  if (options.wear) console.say(std::string("\n") + kScanCaution + "\n");
  console.result(report);
}

}  // namespace

void addGapsCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<GapsOptions>();
  CLI::App* command = app.add_subcommand(
      "gaps", "What the library has by colour, grip, size and profile, against a target table");
  command
      ->add_option("--targets", options->targets,
                   "Target table, CSV (targets.csv in the library's folder)")
      ->check(CLI::ExistingFile)
      ->type_name("FILE");
  command->add_option("--write-targets", options->write, "Write the table, to edit")
      ->type_name("FILE");
  command->add_flag("--wear", options->wear,
                    "Count as worn what two scans show to be (takes seconds a hold)");
  command
      ->add_option("--site", options->sites,
                   "Only what stands at this site; any of several (all sites together)")
      ->type_name("SITE");
  addLibraryOption(command, options->library);
  command->callback([options, &job] { job = [options](Console& c) { gaps(*options, c); }; });
}

}  // namespace holdshelf
