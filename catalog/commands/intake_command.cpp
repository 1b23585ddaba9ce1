// SPDX-License-Identifier: Apache-2.0
#include <memory>

#include "catalog/commands/capture_options.h"
#include "catalog/commands/command.h"
#include "catalog/hold_record.h"
#include "catalog/intake.h"
#include "catalog/report_text.h"
#include "catalog/show_text.h"
#include "catalog/twins.h"

namespace holdshelf {
namespace {

struct Options {
  CaptureFlags capture;
  std::filesystem::path library;
  IntakeLabels labels;
  std::string new_scan_of;
  bool no_photos = false;
};

/// Says at once when the hold has been here before.
void sayTwins(const std::filesystem::path& folder, const Hold& hold, Console& console) {
  const Library library = Library::open(folder);
  for (const Twin& twin : twinsOfNew(library, hold).twins()) {
    console.say("This is " + twinText(twin) + ".\n");
    if (twin.kind() != Twin::SAME) continue;
    console.say("  If it is the same piece: holdshelf move --to retired " + hold.id() +
                ", and scan it next time with --new-scan-of " + twin.other() +
                ".\n  If it is one more of a lot: holdshelf edit " + twin.other() +
                " --count N, and retire " + hold.id() + ".\n");
  }
}

void intakeCommand(const Options& options, Console& console) {
  IntakeOptions intake_options;
  intake_options.labels = options.labels;
  intake_options.mat = matOf(options.capture);
  intake_options.rebuild = rebuildOptions(options.capture);
  intake_options.keep_photos = !options.no_photos;
  intake_options.new_scan_of = options.new_scan_of;
  const Hold hold =
      intake(options.library, options.capture.photos, intake_options, console.progress());
  console.endProgress();
  if (const Scan* scan = currentScan(hold)) console.say(reportText(scan->report()));
  console.say("\nStored in " + options.library.string() + ":\n" + showText(hold));
  if (options.new_scan_of.empty()) sayTwins(options.library, hold, console);
  console.result(hold);
}

}  // namespace

void addIntakeCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand(
      "intake", "Rebuild and measure a hold from photos and put it in the library");
  addCaptureFlags(command, options->capture);
  addLibraryOption(command, options->library);
  IntakeLabels& labels = options->labels;
  CLI::Option* id =
      command->add_option("--id", labels.id, "Id of the new hold (the next free H-0001)")
          ->type_name("ID");
  command->add_option("--name", labels.name, "Name")->type_name("N");
  command->add_option("--bin", labels.bin, "Bin")->type_name("B");
  command->add_option("--set", labels.set, "Set that it belongs to")->type_name("S");
  command->add_option("--maker", labels.maker, "Maker, free text")->type_name("TEXT");
  command->add_option("--texture", labels.texture, "Texture, free text")->type_name("TEXT");
  command->add_option("--count", labels.count, "Identical pieces (1)")
      ->check(CLI::Range(1, 100000));
  command->add_option("--new-scan-of", options->new_scan_of, "A new scan of this hold")
      ->excludes(id)
      ->type_name("ID");
  command->add_flag("--no-photos", options->no_photos, "Do not copy the photos into the library");
  command->callback(
      [options, &job] { job = [options](Console& c) { intakeCommand(*options, c); }; });
}

}  // namespace holdshelf
