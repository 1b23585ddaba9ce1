// SPDX-License-Identifier: Apache-2.0
#include <memory>

#include "catalog/clock.h"
#include "catalog/commands/command.h"
#include "catalog/commands/show_mounting.h"
#include "catalog/hold_record.h"
#include "catalog/library.h"
#include "catalog/show_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

struct ShowOptions {
  std::filesystem::path library;
  std::string id, as_of;
  std::filesystem::path rose;
  GripOptions grips;
};

void show(const ShowOptions& options, Console& console) {
  const Library library = Library::open(options.library);
  if (!options.rose.empty()) writeGripRose(library, options.id, options.grips, options.rose);
  if (options.grips.asksMounting()) {
    showMounting(library, options.id, options.grips, console);
    return;
  }
  Hold hold = library.hold(options.id);
  if (!options.as_of.empty()) {
    const auto then = holdAsOf(library.history(options.id), endOfDate(options.as_of));
    if (!then)
      throw BadInput(options.id + " was not in the library yet on " + options.as_of +
                     ": it came on " + hold.created_at().substr(0, 10) + ".");
    hold = *then;
  }
  console.say(showText(hold));
  console.result(hold);
}

}  // namespace

void addShowCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<ShowOptions>();
  CLI::App* command = app.add_subcommand("show", "Print a hold: its numbers, grips and place");
  command->add_option("id", options->id, "Id of the hold, e.g. H-0001")
      ->required()
      ->type_name("ID");
  command->add_option("--as-of", options->as_of, "As it was on this date")->type_name("DATE");
  addGripOptions(command, options->grips, true);
  command
      ->add_option("--rose", options->rose,
                   "Also write its words in every mounting, as a .png or .svg")
      ->type_name("FILE");
  addLibraryOption(command, options->library);
  command->callback([options, &job] { job = [options](Console& c) { show(*options, c); }; });
}

}  // namespace holdshelf
