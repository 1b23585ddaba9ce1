// SPDX-License-Identifier: Apache-2.0
#include <memory>

#include "catalog/commands/command.h"
#include "catalog/library.h"
#include "catalog/lost_file.h"
#include "catalog/show_text.h"
#include "catalog/twins.h"

namespace holdshelf {
namespace {

struct TwinsOptions {
  std::filesystem::path library;
  std::string id;
};

void keepOnly(const std::string& id, TwinList& list) {
  TwinList kept = list;
  kept.clear_twins();
  for (const Twin& twin : list.twins())
    if (twin.hold() == id || twin.other() == id) *kept.add_twins() = twin;
  list = kept;
}

void twins(const TwinsOptions& options, Console& console) {
  const Library library = Library::open(options.library);
  if (!options.id.empty()) (void)library.hold(options.id);
  TwinList list = findTwins(library, {}, console.progress());
  console.endProgress();
  if (!options.id.empty()) keepOnly(options.id, list);
  for (const Twin& twin : list.twins()) {
    const std::string here = siteText(library.hold(twin.hold()));
    const std::string there = siteText(library.hold(twin.other()));
    console.say(twin.hold() + " is " + twinText(twin) +
                (here.empty() && there.empty() ? "" : "; " + here + " and " + there) + ".\n");
  }
  if (list.twins().empty())
    console.say("No twins among " + std::to_string(list.holds()) + " scanned holds; " +
                std::to_string(list.registered()) +
                " pairs were near enough to be laid on each other.\n");
  if (!list.unread().empty()) console.say(notComparedText(list.unread()) + "\n");
  console.result(list);
}

}  // namespace

void addTwinsCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<TwinsOptions>();
  CLI::App* command = app.add_subcommand(
      "twins", "Find holds of the same shape, mirrored, or in another size, whatever the colour");
  command->add_option("id", options->id, "Only twins of this hold")->type_name("ID");
  addLibraryOption(command, options->library);
  command->callback([options, &job] { job = [options](Console& c) { twins(*options, c); }; });
}

}  // namespace holdshelf
