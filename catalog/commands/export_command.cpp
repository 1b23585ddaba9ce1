// SPDX-License-Identifier: Apache-2.0
#include <memory>

#include "catalog/commands/command.h"
#include "catalog/hold_record.h"
#include "catalog/library.h"
#include "catalog/library_csv.h"
#include "catalog/library_exchange.h"
#include "catalog/output_folder.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

struct ExportOptions {
  std::filesystem::path library, out, csv;
  std::string id;
  bool all = false;
};

void exportAll(const Library& library, const ExportOptions& options, Console& console) {
  exportLibrary(library, options.out, console.progress());
  console.endProgress();
  console.say("Wrote holds.csv, holds.json, events.json, blobs and meshes of " +
              std::to_string(library.size()) + " holds to " + options.out.string() + ".\n");
  MergeReport report;
  report.set_holds_added(library.size());
  report.set_events_added(library.lastEvent());
  console.result(report);
}

void exportSheet(const Library& library, const ExportOptions& options, Console& console) {
  // With a byte order mark, so that spreadsheets read names as UTF-8.
  writeFileDurably(options.csv, "\xEF\xBB\xBF" + libraryCsv(library));
  console.say("Wrote " + std::to_string(library.size()) + " holds to " + options.csv.string() +
              ": edit it and take it back with holdshelf import.\n");
  ImportReport report;
  report.set_rows(library.size());
  console.result(report);
}

void exportCommand(const ExportOptions& options, Console& console) {
  const Library library = Library::open(options.library);
  if (options.csv.empty() && options.out.empty())
    throw BadInput("Say where to write: --csv FILE for a sheet, or --out DIR for a folder.");
  if (!options.csv.empty()) exportSheet(library, options, console);
  if (options.out.empty()) return;
  if (options.all) return exportAll(library, options, console);
  if (options.id.empty())
    throw BadInput("Say what to export: the id of a hold, or --all for the whole library.");
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
  const auto options = std::make_shared<ExportOptions>();
  CLI::App* command = app.add_subcommand(
      "export", "Write a hold, the whole library, or a sheet of it in open formats");
  command->add_option("id", options->id, "Id of the hold")->type_name("ID");
  command->add_flag("--all", options->all, "The whole library: sheet, JSON, files and meshes");
  command->add_option("--csv", options->csv, "A sheet of all holds (CSV)")->type_name("FILE");
  command->add_option("--out", options->out, "Folder to write to")->type_name("DIR");
  addLibraryOption(command, options->library);
  command->callback(
      [options, &job] { job = [options](Console& c) { exportCommand(*options, c); }; });
}

}  // namespace holdshelf
