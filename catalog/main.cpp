// SPDX-License-Identifier: Apache-2.0
// The program: parses the command line, runs one command, and turns what went wrong into one
// sentence and an exit status: 0 done, 1 bad input, 2 usage, 130 interrupted.
#include <google/protobuf/message.h>

#include <cstdio>
#include <exception>

#include "catalog/commands/command.h"
#include "catalog/shown_text.h"
#include "catalog/sqlite.h"
#include "mesh/bad_input.h"

namespace {

using namespace holdshelf;

constexpr int kBadInput = 1, kUsage = 2, kInterrupted = 130;

// In the order of the help page.
constexpr AddCommand kCommands[] = {
    addMatCommand,   addRebuildCommand,  addIntakeCommand,      addMeasureCommand, addShowCommand,
    addFindCommand,  addFeetCommand,     addCompressionCommand, addShelveCommand,  addCrateCommand,
    addClimbCommand, addBoltsCommand,    addGymCommand,         addTwinsCommand,   addWearCommand,
    addEditCommand,  addMoveCommand,     addNoteCommand,        addHistoryCommand, addExportCommand,
    addCheckCommand, addServeCommand,    addDevicesCommand,     addDeskCommand,    addLabelsCommand,
    addPhotoCommand, addSplitCommand,    addJoinCommand,        addImportCommand,  addCopyCommand,
    addMergeCommand, addGapsCommand,     addBackupCommand,      addRestoreCommand, addHelpCommand,
    addLendCommand,  addTransferCommand, addQueueCommand,       addWorkCommand,
};

/// What went wrong may name what came from elsewhere.
void complain(const std::exception& error) {
  std::fprintf(stderr, "holdshelf: %s\n", withoutControls(error.what()).c_str());
}

int run(int argc, char** argv) {
  CLI::App app(
      "From photos of a climbing hold to its measured shape, and a library of holds that can be "
      "asked for it again.",
      "holdshelf");
  app.set_version_flag("--version", "holdshelf " HOLDSHELF_VERSION);
  app.require_subcommand(1);
  app.fallthrough();
  Console console;
  app.add_flag("--json", console.json, "Print the result as JSON");
  Job job;
  for (const AddCommand add : kCommands) add(app, job);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? 0 : kUsage;
  }
  catchInterrupts();
  try {
    job(console);
    console.endProgress();
    return 0;
  } catch (const Interrupted& error) {
    console.endProgress();
    complain(error);
    return kInterrupted;
  } catch (const std::exception& error) {
    console.endProgress();
    complain(error);
    return kBadInput;
  }
}

}  // namespace

int main(int argc, char** argv) {
  google::protobuf::SetLogHandler(nullptr);  // What is damaged, its readers say.
  return run(argc, argv);
}
