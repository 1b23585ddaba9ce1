// SPDX-License-Identifier: Apache-2.0
#include <memory>

#include "catalog/commands/command.h"
#include "catalog/show_text.h"
#include "catalog/wear.h"

namespace holdshelf {
namespace {

struct Options {
  std::filesystem::path library;
  std::string id;
};

void wear(const Options& options, Console& console) {
  const Library library = Library::open(options.library);
  WearList list;
  if (options.id.empty()) {
    list = wearOfAll(library, {}, console.progress());
  } else {
    *list.add_wears() = wearOf(library, options.id, {}, console.progress());
    list.set_caution(kScanCaution);
  }
  console.endProgress();
  for (const Wear& wear : list.wears()) console.say(wearText(wear) + "\n");
  if (!list.skipped().empty())
    console.say(std::to_string(list.skipped_size()) +
                " holds have been scanned once only and cannot be compared.\n");
  console.say("\n" + list.caution() + "\nRetire by the maker's and the code's rules.\n");
  console.result(list);
}

}  // namespace

void addWearCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand(
      "wear", "Compare holds' last scans with their first: rounded lips, lost material");
  command->add_option("id", options->id, "Only this hold")->type_name("ID");
  addLibraryOption(command, options->library);
  command->callback([options, &job] { job = [options](Console& c) { wear(*options, c); }; });
}

}  // namespace holdshelf
