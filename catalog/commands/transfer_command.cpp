// SPDX-License-Identifier: Apache-2.0
// A whole library brought to another place: a folder into PostgreSQL, and back.
#include <memory>

#include "catalog/commands/command.h"
#include "catalog/library_place.h"
#include "catalog/library_transfer.h"
#include "catalog/postgres_store.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

struct TransferOptions {
  std::filesystem::path from, to, files;
};

void transfer(const TransferOptions& options, Console& console) {
  if (samePlace(options.from, options.to))
    throw BadInput(options.to.string() + " is the library itself: name another place.");
  if (!options.files.empty() && !isDatabaseAddress(options.to))
    throw BadInput("--files goes with a database only: a library in a folder has its files there.");
  const Library from = Library::open(options.from);
  Library to = Library::openOrCreate(options.to);
  if (!options.files.empty()) {
    dynamic_cast<PostgresStore&>(to.store()).keepFilesIn(std::filesystem::absolute(options.files));
    to = Library::open(options.to);
  }
  const TransferReport done = transferLibrary(from, to, console.progress());
  console.endProgress();
  console.say("Brought to " + done.to() + ": " + std::to_string(done.holds()) + " holds, " +
              std::to_string(done.events()) + " events, " + std::to_string(done.files()) +
              " files, of which " + std::to_string(done.files_added()) +
              " are new there; all of it read again and compared (" + done.digest().substr(0, 12) +
              ").\n");
  console.result(done);
}

}  // namespace

void addTransferCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<TransferOptions>();
  CLI::App* command = app.add_subcommand(
      "transfer",
      "Bring a whole library to another place: a folder into PostgreSQL, and back. Run again, it "
      "goes on where it stopped");
  command->add_option("--from", options->from, "Folder or postgres://... that stays as it is")
      ->required()
      ->type_name("PLACE");
  command->add_option("--to", options->to, "Folder or postgres://..., empty or begun before")
      ->required()
      ->type_name("PLACE");
  command
      ->add_option("--files", options->files,
                   "Keep a database's meshes and photos in this folder, which all machines share "
                   "(in the database)")
      ->type_name("DIR");
  command->callback([options, &job] { job = [options](Console& c) { transfer(*options, c); }; });
}

}  // namespace holdshelf
