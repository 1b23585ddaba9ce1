// SPDX-License-Identifier: Apache-2.0
#include <memory>

#include "catalog/commands/command.h"
#include "catalog/hold_record.h"
#include "catalog/library.h"
#include "catalog/output_folder.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

struct Options {
  std::filesystem::path library, out;
  std::string id;
};

void exportCommand(const Options& options, Console& console) {
  const Library library = Library::open(options.library);
  const Hold hold = library.hold(options.id);
  const Scan* scan = currentScan(hold);
  OutputFolder out(options.out);
  out.add("hold.json", toJson(hold));
  std::string files = "hold.json";
  const auto add = [&](const char* name, const std::string& blob) {
    if (blob.empty()) return;
    out.add(name, library.blobs().get(blob));
    files += std::string(", ") + name;
  };
  if (scan != nullptr) {
    add("hold.ply", scan->mesh_blob());
    add("hold.glb", scan->glb_blob());
    add("contact-sheet.png", scan->contact_sheet_blob());
    add("thumbnail.png", scan->thumbnail_blob());
  }
  out.commit();
  console.say("Wrote " + files + " of " + hold.id() + " to " + out.path().string() + ".\n");
  console.result(hold);
}

}  // namespace

void addExportCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<Options>();
  CLI::App* command =
      app.add_subcommand("export", "Write a hold's record, meshes and pictures to a folder");
  command->add_option("id", options->id, "Id of the hold")->required()->type_name("ID");
  command->add_option("--out", options->out, "Folder to write to")->required()->type_name("DIR");
  addLibraryOption(command, options->library);
  command->callback(
      [options, &job] { job = [options](Console& c) { exportCommand(*options, c); }; });
}

}  // namespace holdshelf
