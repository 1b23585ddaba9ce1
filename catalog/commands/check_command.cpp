// SPDX-License-Identifier: Apache-2.0
#include <memory>

#include "catalog/commands/command.h"
#include "catalog/library_check.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

struct CheckOptions {
  std::filesystem::path library, from;
  bool repair = false;
};

void check(const CheckOptions& options, Console& console) {
  const CheckReport report = checkLibrary(options.library, options.repair || !options.from.empty(),
                                          console.progress(), options.from);
  console.endProgress();
  for (const std::string& mended : report.mended()) console.say(mended + "\n");
  for (const std::string& fault : report.faults()) console.say(fault + "\n");
  for (const std::string& remark : report.remarks()) console.say(remark + "\n");
  console.say(std::to_string(report.holds()) + " holds, " + std::to_string(report.events()) +
              " events, " + std::to_string(report.blobs()) + " files, " +
              std::to_string(report.unreferenced_blobs()) + " of them left by interrupted work.\n");
  if (report.repaired()) console.say("The database was made anew from the stored batches.\n");
  console.result(report);
  if (!report.faults().empty() && !report.repaired())
    throw BadInput("The library " + options.library.string() + " has " +
                   std::to_string(report.faults_size()) +
                   " faults: --repair makes the database anew; lost files come back from a copy of "
                   "the library with --from.");
}

}  // namespace

void addCheckCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<CheckOptions>();
  CLI::App* command = app.add_subcommand("check", "Look through a whole library for damage");
  command->add_flag("--repair", options->repair, "Make the database anew from the stored batches");
  command->add_option("--from", options->from, "Repair, with lost files from this copy")
      ->check(CLI::ExistingDirectory)
      ->type_name("DIR");
  addLibraryOption(command, options->library);
  command->callback([options, &job] { job = [options](Console& c) { check(*options, c); }; });
}

}  // namespace holdshelf
