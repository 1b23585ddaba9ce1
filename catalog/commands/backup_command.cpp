// SPDX-License-Identifier: Apache-2.0
// A backup kept up to date, and a library made of one.
#include <memory>

#include "catalog/commands/command.h"
#include "catalog/library_backup.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

struct BackupOptions {
  std::filesystem::path library, other;
};

void tell(const BackupReport& report, const std::string& done, Console& console) {
  console.endProgress();
  for (const std::string& fault : report.faults()) console.say(fault + "\n");
  console.say(done + " " + report.folder() + ": " + std::to_string(report.holds()) + " holds, " +
              std::to_string(report.events()) + " events, " + std::to_string(report.files()) +
              " files, of which " + std::to_string(report.files_added()) +
              " are new there; all of it read again and compared.\n");
  console.result(report);
  if (!report.faults().empty())
    throw BadInput(report.folder() + " has all that could be read, but " +
                   std::to_string(report.faults_size()) +
                   " faults were found: the lines above name them.");
}

void backup(const BackupOptions& options, Console& console) {
  const Library library = Library::open(options.library);
  tell(backupLibrary(library, options.other, console.progress()), "Backed up to", console);
}

void restore(const BackupOptions& options, Console& console) {
  tell(restoreBackup(options.other, options.library, console.progress()), "Restored to", console);
}

}  // namespace

void addBackupCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<BackupOptions>();
  CLI::App* command = app.add_subcommand(
      "backup", "Bring a backup of the library up to date, while others work on it");
  command->add_option("to", options->other, "Folder of the backup, made where there is none")
      ->required()
      ->type_name("DIR");
  addLibraryOption(command, options->library);
  command->callback([options, &job] { job = [options](Console& c) { backup(*options, c); }; });
}

void addRestoreCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<BackupOptions>();
  CLI::App* command =
      app.add_subcommand("restore", "Make a library of a backup, in a folder without one");
  command->add_option("from", options->other, "Folder of the backup, which stays as it is")
      ->required()
      ->type_name("DIR");
  addLibraryOption(command, options->library);
  command->callback([options, &job] { job = [options](Console& c) { restore(*options, c); }; });
}

}  // namespace holdshelf
