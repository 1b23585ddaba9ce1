// SPDX-License-Identifier: Apache-2.0
#include <memory>

#include "capture/printed_mat.h"
#include "catalog/commands/command.h"
#include "catalog/output_folder.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

struct MatOptions {
  std::string paper = "A4";
  std::filesystem::path out = "mat.pdf";
};

void matCommand(const MatOptions& options, Console& console) {
  if (options.out.extension() != ".pdf")
    throw BadInput(options.out.string() + ": the mat is a PDF; give --out a name ending in .pdf.");
  const PrintedMat printed = makeMat(options.paper);
  auto description = options.out;
  description.replace_extension(".json");
  OutputFolder out(options.out.has_parent_path() ? options.out.parent_path() : ".");
  out.add(options.out.filename().string(), printed.pdf);
  out.add(description.filename().string(), toJson(printed.mat));
  out.commit();
  console.say("Wrote " + options.out.string() + " to print and " + description.string() +
              " to pass as --mat.\nPrint at 100 %, then measure the ruler: where it is not 100 mm, "
              "pass --ruler 100=MEASURED.\n");
  console.result(printed.mat);
}

}  // namespace

void addMatCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<MatOptions>();
  CLI::App* command = app.add_subcommand("mat", "Write a marker mat to print at true scale");
  command->add_option("--paper", options->paper, "A4, A3 or A2")->capture_default_str();
  command->add_option("--out", options->out, "The PDF; its description goes beside it as .json")
      ->capture_default_str()
      ->type_name("FILE.pdf");
  command->callback([options, &job] { job = [options](Console& c) { matCommand(*options, c); }; });
}

}  // namespace holdshelf
