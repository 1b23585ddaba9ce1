// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <memory>

#include "catalog/commands/command.h"
#include "catalog/csv_import.h"
#include "catalog/intake.h"
#include "catalog/library_exchange.h"
#include "catalog/lost_file.h"
#include "catalog/twins.h"
#include "mesh/bad_input.h"
#include "mesh/measure_file.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

struct ImportOptions {
  fs::path library;
  std::vector<fs::path> files;
  std::string units, bin, set;
  double up_deg = 0;
  bool keep_frame = false, dry_run = false, force = false;
};

std::string extensionOf(const fs::path& file) {
  std::string extension = file.extension().string();
  std::transform(extension.begin(), extension.end(), extension.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return extension;
}

void importSheet(Library& library, const fs::path& file, const ImportOptions& options,
                 ImportReport& report) {
  CsvImportOptions csv;
  csv.file = file.string();
  csv.dry_run = options.dry_run;
  csv.force = options.force;
  report.MergeFrom(importCsv(library, readFile(file), csv));
}

/// A mesh file becomes a hold of its name with one scan, measured like one from photos.
void importMesh(Library& library, const fs::path& file, const ImportOptions& options,
                Console& console, ImportReport& report) {
  MeasureFileOptions reading;
  if (!options.units.empty()) reading.unit = unitFromName(options.units);
  reading.up_deg = options.up_deg;
  reading.keep_frame = options.keep_frame;
  const PreparedMesh prepared = prepareMesh(file, reading);
  if (options.dry_run) {
    report.add_changes(file.string() + " would be a new hold");
    return;
  }
  FinishedScan finished = finishMesh(prepared.mesh, console.progress());
  for (const std::string& note : prepared.notes) finished.scan.mutable_shape()->add_notes(note);
  IntakeLabels labels;
  labels.name = file.stem().string();
  labels.bin = options.bin;
  labels.set = options.set;
  const TwinList twins = twinsOfMesh(library, prepared.mesh, {}, console.progress());
  const Hold hold = storeScan(library, std::move(finished), labels);
  report.add_changes(hold.id() + " came in from " + file.string());
  for (const Twin& twin : twins.twins()) report.add_changes(hold.id() + ": " + againText(twin));
  if (!twins.unread().empty())
    report.add_changes(hold.id() + ": " + notComparedText(twins.unread()));
  report.set_holds_added(report.holds_added() + 1);
}

void importFiles(const ImportOptions& options, Console& console) {
  Library library = Library::openOrCreate(options.library);
  ImportReport report;
  for (const fs::path& file : options.files) {
    if (fs::is_directory(file)) {
      const MergeReport merged = importFolder(library, file, options.dry_run, console.progress());
      report.set_holds_added(report.holds_added() + merged.holds_added());
      report.add_changes(std::to_string(merged.events_added()) + " events from " + file.string() +
                         ", " + std::to_string(merged.events_known()) + " were here already");
      for (const std::string& sentence : merged.left_out()) report.add_changes(sentence);
    } else if (extensionOf(file) == ".csv") {
      importSheet(library, file, options, report);
    } else {
      importMesh(library, file, options, console, report);
    }
  }
  console.endProgress();
  report.set_dry_run(options.dry_run);
  for (const std::string& change : report.changes()) console.say("  " + change + "\n");
  console.say((options.dry_run ? "Would be: " : "") + std::to_string(report.holds_added()) +
              (report.holds_added() == 1 ? " hold" : " holds") + " new, " +
              std::to_string(report.holds_changed()) + " changed.\n");
  console.result(report);
}

}  // namespace

void addImportCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<ImportOptions>();
  CLI::App* command = app.add_subcommand(
      "import", "Take in a sheet (CSV), an exported folder, or mesh files (PLY, STL, OBJ)");
  command->add_option("files", options->files, "Sheets, folders or meshes")
      ->required()
      ->check(CLI::ExistingPath)
      ->type_name("FILE");
  command->add_flag("--dry-run", options->dry_run, "Say what would change, change nothing");
  command->add_flag("--force", options->force,
                    "Sheets: also change holds that were changed since the export");
  command->add_option("--units", options->units, "Meshes: unit of the file: mm, cm, in, m");
  command->add_option("--up", options->up_deg, "Meshes: the hold's up, degrees from the file's y")
      ->type_name("DEG");
  command->add_flag("--keep-frame", options->keep_frame,
                    "Meshes: the file is in the hold frame already");
  command->add_option("--bin", options->bin, "Meshes: bin of the new holds")->type_name("B");
  command->add_option("--set", options->set, "Meshes: set of the new holds")->type_name("S");
  addLibraryOption(command, options->library);
  command->callback([options, &job] { job = [options](Console& c) { importFiles(*options, c); }; });
}

}  // namespace holdshelf
