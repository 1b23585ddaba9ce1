// SPDX-License-Identifier: Apache-2.0
// Whole libraries: copied, and merged with another.
#include <memory>

#include "catalog/commands/command.h"
#include "catalog/library_copy.h"
#include "catalog/library_merge.h"
#include "catalog/library_place.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

struct CopyOptions {
  std::filesystem::path library, other;
  bool dry_run = false;
};

void copy(const CopyOptions& options, Console& console) {
  const Library library = Library::open(options.library);
  copyLibrary(library, options.other, console.progress());
  console.endProgress();
  const Library made = Library::open(options.other);
  console.say("Copied " + std::to_string(made.size()) + " holds to " + options.other.string() +
              ".\n");
  MergeReport report;
  report.set_holds_added(made.size());
  report.set_events_added(made.lastEvent());
  report.set_files_added(static_cast<std::int64_t>(made.blobs().names().size()));
  console.result(report);
}

std::string mergeText(const MergeReport& report, const std::string& from, bool dry_run) {
  std::string text;
  for (const RenamedHold& hold : report.renamed())
    text += hold.from() + " of " + from + " is " + hold.to() + " here: its id was taken.\n";
  for (const RenamedHold& hold : report.joined())
    text += hold.from() + " of " + from + " has a scan of " + hold.to() + ": it is that hold.\n";
  for (const std::string& sentence : report.left_out()) text += sentence + "\n";
  return text + (dry_run ? "Would merge: " : "Merged: ") + std::to_string(report.holds_added()) +
         " new holds, " + std::to_string(report.events_added()) + " events and " +
         std::to_string(report.files_added()) + " files; " + std::to_string(report.events_known()) +
         " events were here already.\n";
}

void merge(const CopyOptions& options, Console& console) {
  Library library = Library::open(options.library);
  const Library other = Library::open(options.other);
  if (samePlace(options.library, options.other))
    throw BadInput(options.other.string() + " is the library itself: name another one.");
  const MergeReport report =
      mergeInto(library, mergeSourceOf(other), options.dry_run, console.progress());
  console.endProgress();
  console.say(mergeText(report, options.other.string(), options.dry_run));
  console.result(report);
}

}  // namespace

void addCopyCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<CopyOptions>();
  CLI::App* command = app.add_subcommand("copy", "Copy the whole library to a new folder");
  command->add_option("to", options->other, "Folder to make")->required()->type_name("DIR");
  addLibraryOption(command, options->library);
  command->callback([options, &job] { job = [options](Console& c) { copy(*options, c); }; });
}

void addMergeCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<CopyOptions>();
  CLI::App* command = app.add_subcommand(
      "merge", "Add what another library knows: its holds, scans and history; nothing is lost");
  command->add_option("other", options->other, "Folder of the other library, which stays as it is")
      ->required()
      ->type_name("DIR");
  command->add_flag("--dry-run", options->dry_run, "Say what would happen, change nothing");
  addLibraryOption(command, options->library);
  command->callback([options, &job] { job = [options](Console& c) { merge(*options, c); }; });
}

}  // namespace holdshelf
