// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <CLI/CLI.hpp>
#include <filesystem>
#include <functional>
#include <string>

#include "catalog/console.h"

namespace holdshelf {

/// What a parsed command line asks for; run after parsing, so that a usage error starts nothing.
using Job = std::function<void(Console&)>;

/// Adds one subcommand: its flags, its help, and what to run when it is chosen. Each has a file of
/// its own in this folder.
using AddCommand = void (*)(CLI::App& app, Job& job);
void addBoltsCommand(CLI::App& app, Job& job);
void addCheckCommand(CLI::App& app, Job& job);
void addClimbCommand(CLI::App& app, Job& job);
void addCrateCommand(CLI::App& app, Job& job);
void addCompressionCommand(CLI::App& app, Job& job);
void addCopyCommand(CLI::App& app, Job& job);
void addDeskCommand(CLI::App& app, Job& job);
void addDevicesCommand(CLI::App& app, Job& job);
void addBackupCommand(CLI::App& app, Job& job);
void addRestoreCommand(CLI::App& app, Job& job);
void addEditCommand(CLI::App& app, Job& job);
void addExportCommand(CLI::App& app, Job& job);
void addFeetCommand(CLI::App& app, Job& job);
void addFindCommand(CLI::App& app, Job& job);
void addGapsCommand(CLI::App& app, Job& job);
void addGymCommand(CLI::App& app, Job& job);
void addHelpCommand(CLI::App& app, Job& job);
void addHistoryCommand(CLI::App& app, Job& job);
void addImportCommand(CLI::App& app, Job& job);
void addIntakeCommand(CLI::App& app, Job& job);
void addLabelsCommand(CLI::App& app, Job& job);
void addLendCommand(CLI::App& app, Job& job);
void addMatCommand(CLI::App& app, Job& job);
void addMergeCommand(CLI::App& app, Job& job);
void addMoveCommand(CLI::App& app, Job& job);
void addNoteCommand(CLI::App& app, Job& job);
void addPhotoCommand(CLI::App& app, Job& job);
void addRebuildCommand(CLI::App& app, Job& job);
void addMeasureCommand(CLI::App& app, Job& job);
void addShelveCommand(CLI::App& app, Job& job);
void addServeCommand(CLI::App& app, Job& job);
void addShowCommand(CLI::App& app, Job& job);
void addSplitCommand(CLI::App& app, Job& job);
void addJoinCommand(CLI::App& app, Job& job);
void addTransferCommand(CLI::App& app, Job& job);
void addTwinsCommand(CLI::App& app, Job& job);
void addWearCommand(CLI::App& app, Job& job);
void addQueueCommand(CLI::App& app, Job& job);
void addWorkCommand(CLI::App& app, Job& job);

/// --library PLACE, a folder or postgres://..., by default $HOLDSHELF_LIBRARY or ./library.
CLI::Option* addLibraryOption(CLI::App* command, std::filesystem::path& folder);

}  // namespace holdshelf
