// SPDX-License-Identifier: Apache-2.0
#include <memory>

#include "catalog/commands/command.h"
#include "catalog/label_choice.h"
#include "catalog/output_folder.h"
#include "catalog/own_address.h"
#include "catalog/server.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

struct LabelsOptions {
  std::filesystem::path library, out = "labels.pdf";
  LabelChoice choice;
  std::string sheet = "A4-21";
  int skip = 0;
};

void labelsCommand(LabelsOptions options, Console& console) {
  if (options.out.extension() != ".pdf")
    throw BadInput(options.out.string() + ": labels are a PDF; give --out a name ending in .pdf.");
  if (options.choice.page.empty()) options.choice.page = ownPageAddress(ServeOptions().port);
  if (!options.choice.page.ends_with('/')) options.choice.page += '/';
  const LabelSheet sheet = labelSheet(options.sheet);
  const std::vector<Label> labels = chosenLabels(Library::open(options.library), options.choice);
  OutputFolder out(options.out.has_parent_path() ? options.out.parent_path() : ".");
  out.add(options.out.filename().string(), labelsPdf(labels, sheet, options.skip));
  out.commit();
  console.say("Wrote " + std::to_string(labels.size()) +
              (labels.size() == 1 ? " label" : " labels") + " to " + options.out.string() +
              ", whose codes lead to " + options.choice.page +
              ". Print at 100 %, and try one code with a phone before you print many.\n");
}

}  // namespace

void addLabelsCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<LabelsOptions>();
  CLI::App* command = app.add_subcommand(
      "labels", "Write labels for holds and bins, with codes that open them on a phone");
  addLibraryOption(command, options->library);
  LabelChoice& choice = options->choice;
  command->add_option("holds", choice.holds, "Ids; all holds where nothing is named")
      ->type_name("ID");
  command->add_option("--of-bin", choice.of_bins, "All holds of these bins")->type_name("BIN...");
  command->add_option("--bin", choice.bins, "Labels for these bins themselves")
      ->type_name("BIN...");
  command->add_flag("--bins", choice.all_bins, "Labels for all bins themselves");
  command
      ->add_option("--sheet", options->sheet,
                   "A4-8, A4-12, A4-21, A4-24, A4-65, or a label's WIDTHxHEIGHT in mm")
      ->capture_default_str();
  command->add_option("--skip", options->skip, "Labels that are used up on the first sheet (0)")
      ->type_name("N");
  command
      ->add_option("--address", choice.page,
                   "Where phones find the page (http://THIS-MACHINE.local:8484/)")
      ->type_name("URL");
  command->add_option("--out", options->out, "The PDF")
      ->capture_default_str()
      ->type_name("FILE.pdf");
  command->callback(
      [options, &job] { job = [options](Console& c) { labelsCommand(*options, c); }; });
}

}  // namespace holdshelf
