// SPDX-License-Identifier: Apache-2.0
#include <memory>

#include "catalog/commands/command.h"
#include "catalog/lost_file.h"
#include "catalog/show_text.h"
#include "catalog/wear.h"
#include "mesh/bad_input.h"
#include "mesh/whole_file.h"

namespace holdshelf {
namespace {

struct WearOptions {
  std::filesystem::path library;
  std::string id;
  std::filesystem::path picture;
};

void writePicture(const ComparedScans& compared, const std::filesystem::path& file) {
  const Plot plot = wearPlot(compared);
  writeWhole(file, file.extension() == ".svg" ? plot.svg : plot.png);
}

void wear(const WearOptions& options, Console& console) {
  if (!options.picture.empty() && options.id.empty())
    throw BadInput(
        "A picture shows one hold: name it, as in holdshelf wear H-0001 --picture FILE.");
  const Library library = Library::open(options.library);
  WearList list;
  if (options.id.empty()) {
    list = wearOfAll(library, {}, console.progress());
  } else {
    const ComparedScans compared = comparisonOf(library, options.id, {}, console.progress());
    *list.add_wears() = compared.wear;
    list.set_caution(kScanCaution);
    if (!options.picture.empty()) writePicture(compared, options.picture);
  }
  console.endProgress();
  for (const Wear& wear : list.wears()) console.say(wearText(wear) + "\n");
  if (!list.skipped().empty())
    console.say(std::to_string(list.skipped_size()) +
                (list.skipped_size() == 1 ? " hold has" : " holds have") +
                " been scanned once only and cannot be compared.\n");
  if (!list.unread().empty()) console.say(notComparedText(list.unread()) + "\n");
  console.say("\n" + list.caution() + "\nRetire by the maker's and the code's rules.\n");
  console.result(list);
}

}  // namespace

void addWearCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<WearOptions>();
  CLI::App* command = app.add_subcommand(
      "wear", "Compare holds' last scans with their first: rounded lips, lost material");
  command->add_option("id", options->id, "Only this hold")->type_name("ID");
  command
      ->add_option("--picture", options->picture,
                   "Draw where material is gone, with a legend in mm: a PNG, or an SVG by its name")
      ->type_name("FILE");
  addLibraryOption(command, options->library);
  command->callback([options, &job] { job = [options](Console& c) { wear(*options, c); }; });
}

}  // namespace holdshelf
