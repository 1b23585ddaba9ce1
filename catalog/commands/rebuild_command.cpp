// SPDX-License-Identifier: Apache-2.0
#include <memory>

#include "catalog/commands/capture_options.h"
#include "catalog/commands/command.h"
#include "catalog/output_folder.h"
#include "catalog/report_text.h"
#include "mesh/mesh_io.h"

namespace holdshelf {
namespace {

struct RebuildCommandOptions {
  CaptureFlags capture;
  std::filesystem::path out;
};

std::string_view viewOf(const std::vector<std::uint8_t>& bytes) {
  return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

void rebuildCommand(const RebuildCommandOptions& options, Console& console) {
  const auto mat = matOf(options.capture);
  const RebuildOptions rebuild_options = rebuildOptions(options.capture);
  OutputFolder out(options.out);
  const Rebuilt rebuilt = rebuild(options.capture.photos, mat, rebuild_options, console.progress());
  console.endProgress();
  out.add("hold.ply", plyBytes(rebuilt.mesh));
  out.add("hold.glb", glbBytes(rebuilt.mesh));
  out.add("report.json", toJson(rebuilt.report));
  out.add("contact-sheet.png", viewOf(rebuilt.contact_sheet_png));
  out.commit();
  console.say(reportText(rebuilt.report));
  console.say("Wrote hold.ply, hold.glb, report.json and contact-sheet.png to " +
              out.path().string() + ".\n");
  console.result(rebuilt.report);
}

}  // namespace

void addRebuildCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<RebuildCommandOptions>();
  CLI::App* command = app.add_subcommand("rebuild", "Rebuild a hold's mesh from photos on a mat");
  addCaptureFlags(command, options->capture);
  command->add_option("--out", options->out, "Folder for the mesh, report and contact sheet")
      ->required()
      ->type_name("DIR");
  command->callback(
      [options, &job] { job = [options](Console& c) { rebuildCommand(*options, c); }; });
}

}  // namespace holdshelf
