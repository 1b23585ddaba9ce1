// SPDX-License-Identifier: Apache-2.0
#include <unistd.h>

#include <algorithm>
#include <cctype>
#include <cstdio>
#include <iostream>
#include <memory>

#include "catalog/commands/capture_options.h"
#include "catalog/commands/command.h"
#include "catalog/hold_record.h"
#include "catalog/intake.h"
#include "catalog/lost_file.h"
#include "catalog/report_text.h"
#include "catalog/show_text.h"
#include "catalog/shown_text.h"
#include "catalog/twins.h"

namespace holdshelf {
namespace {

struct IntakeCommandOptions {
  CaptureFlags capture;
  std::filesystem::path library;
  IntakeLabels labels;
  std::string new_scan_of, if_again = "ask";
  bool no_photos = false;
};

/// One line from the person at the terminal, without blanks around; empty at its end.
std::string answer() {
  std::string line;
  std::getline(std::cin, line);
  const auto letter = [](unsigned char c) { return std::isspace(c) == 0; };
  line.erase(line.begin(), std::find_if(line.begin(), line.end(), letter));
  line.erase(std::find_if(line.rbegin(), line.rend(), letter).base(), line.end());
  return line;
}

IntakeChoice::Kind ask(const std::string& again) {
  for (;;) {
    std::fprintf(stderr,
                 "Is it [s] %s scanned again, [m] one more piece like it, or [n] a new hold? ",
                 withoutControls(again).c_str());
    const std::string said = answer();
    if (said == "s") return IntakeChoice::Kind::NewScan;
    if (said == "m") return IntakeChoice::Kind::OneMore;
    if (said == "n" || !std::cin) return IntakeChoice::Kind::New;
  }
}

/// Says at once that the hold has been here before, and what it is taken in as.
IntakeChoice choose(const TwinList& twins, const std::string& if_again, Console& console) {
  console.endProgress();
  const Twin* again = nullptr;
  for (const Twin& twin : twins.twins()) {
    console.say(againText(twin) + "\n");
    if (again == nullptr && twin.kind() == Twin::SAME) again = &twin;
  }
  if (!twins.unread().empty()) console.say(notComparedText(twins.unread()) + "\n");
  if (again == nullptr) return {};
  IntakeChoice choice;
  const bool terminal = !console.json && ::isatty(0) != 0 && ::isatty(2) != 0;
  if (if_again == "scan" && !again->needs_an_eye()) choice.kind = IntakeChoice::Kind::NewScan;
  if (if_again == "more" && !again->needs_an_eye()) choice.kind = IntakeChoice::Kind::OneMore;
  if (if_again == "ask" && terminal) choice.kind = ask(again->other());
  if (choice.kind != IntakeChoice::Kind::New) {
    choice.of = again->other();
  } else if (if_again != "new" && !terminal) {
    console.say("It was taken in as a new hold: --if-again scan or --if-again more takes it as " +
                again->other() + " again or as one more of it" +
                (again->needs_an_eye() ? ", once you have looked at both: --new-scan-of " +
                                             again->other() + " says so.\n"
                                       : ".\n"));
  }
  return choice;
}

void intakeCommand(const IntakeCommandOptions& options, Console& console) {
  IntakeOptions intake_options;
  intake_options.labels = options.labels;
  intake_options.mat = matOf(options.capture);
  intake_options.rebuild = rebuildOptions(options.capture);
  intake_options.keep_photos = !options.no_photos;
  intake_options.new_scan_of = options.new_scan_of;
  intake_options.choose = [&](const TwinList& twins) {
    return choose(twins, options.if_again, console);
  };
  const Hold hold =
      intake(options.library, options.capture.photos, intake_options, console.progress());
  console.endProgress();
  if (const Scan* scan = currentScan(hold)) console.say(reportText(scan->report()));
  console.say("\nStored in " + options.library.string() + ":\n" + showText(hold));
  console.result(hold);
}

}  // namespace

void addIntakeCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<IntakeCommandOptions>();
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
  command
      ->add_option(
          "--if-again", options->if_again,
          "When a hold of its shape is here: ask (on a terminal), scan (a new scan of it), "
          "more (one more of the lot), new")
      ->check(CLI::IsMember({"ask", "scan", "more", "new"}));
  command->add_flag("--no-photos", options->no_photos, "Do not copy the photos into the library");
  command->callback(
      [options, &job] { job = [options](Console& c) { intakeCommand(*options, c); }; });
}

}  // namespace holdshelf
