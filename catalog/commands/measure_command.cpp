// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <memory>

#include "catalog/commands/command.h"
#include "catalog/measured_text.h"
#include "catalog/shape_csv.h"
#include "catalog/show_text.h"
#include "mesh/measure_file.h"
#include "mesh/plane_cut.h"
#include "mesh/plot.h"
#include "mesh/whole_file.h"

namespace holdshelf {
namespace {

struct MeasureCommand {
  std::vector<std::string> meshes, pulls;
  std::vector<double> sections_mm, planes;
  std::string units, plots, csv;
  double rotation_deg = 0, up_deg = 0, step_deg = 5, width_depth_mm = 0;
  bool one_rotation = false, keep_frame = false;
};

/// The rotation of the map that answers for a pull at a rotation of the hold. A pull that is turned
/// by d counter-clockwise from straight down meets the hold as a downward one does d earlier.
std::vector<std::pair<std::string, double>> mapRotations(const MeasureCommand& command) {
  std::vector<std::pair<std::string, double>> out;
  const auto add = [&](const std::string& name, double turned_deg) {
    const double r = std::fmod(command.rotation_deg - turned_deg + 720, 360);
    out.emplace_back(name, r);
  };
  for (const std::string& pull : command.pulls) {
    char* end = nullptr;
    const double deg = std::strtod(pull.c_str(), &end);
    if (pull == "down")
      add("pull down", 0);
    else if (pull == "right")
      add("pull to the right", 90);
    else if (pull == "under")
      add("pull up (undercling)", 180);
    else if (pull == "left")
      add("pull to the left", 270);
    else if (pull == "side")
      add("pull to the left", 270), add("pull to the right", 90);
    else if (!pull.empty() && *end == '\0' && std::isfinite(deg))
      add("pull at " + pull + "° from down", deg);
    else
      throw BadInput("'" + pull + "' is no pull; give down, left, right, side, under, or degrees.");
  }
  return out;
}

/// The one grip of a shape that was measured at one rotation.
std::string gripText(const std::string& pull, const Shape& shape, double rotation_deg) {
  for (const Grip& g : shape.grips()) {
    if (std::abs(std::remainder(g.rotation_deg() - rotation_deg, 360)) > 0.01) continue;
    std::string text = pull + ":\n";
    const auto row = [&](const char* label, const std::string& value) {
      std::string padded = label;
      padded.resize(20, ' ');
      text += "  " + padded + value + "\n";
    };
    row("edge depth", measuredText(g.edge_depth_mm(), "mm") + ", " +
                          measuredText(g.edge_along_mm(), "mm") + " along the surface");
    row("lip radius", (g.lip_sharp() ? "sharp, below " : "") +
                          measuredText(g.lip_radius_mm(), "mm") + " over " +
                          decimalText(g.lip_sweep_deg(), 0) + "°");
    row("incut", measuredText(g.incut_deg(), "°"));
    row("edge width", measuredText(g.edge_width_mm(), "mm") + " at " +
                          decimalText(g.width_depth_mm(), 1) + " mm depth, fingers " +
                          std::to_string(g.fingers()));
    if (g.cut_short()) row("reach", "a finger does not come to the true root");
    return text;
  }
  return pull + ": nothing to hold.\n";
}

MeasureFileOptions fileOptions(const MeasureCommand& command) {
  MeasureFileOptions options;
  if (!command.units.empty()) options.unit = unitFromName(command.units);
  options.up_deg = command.up_deg;
  options.keep_frame = command.keep_frame;
  options.measure.rotation_step_deg = command.step_deg;
  options.measure.width_depth_mm = command.width_depth_mm;
  return options;
}

/// The rotations and sections that the command line asks for, in one shape.
Shape measureChosen(const TriangleMesh& mesh, const MeasureCommand& command, MeasureOptions options,
                    std::vector<SectionChoice>& choices, std::string& text) {
  Shape shape;
  std::vector<std::optional<double>> offsets(command.sections_mm.begin(),
                                             command.sections_mm.end());
  if (offsets.empty()) offsets.emplace_back();
  for (const auto& [pull, rotation] : mapRotations(command))
    for (const std::optional<double>& offset : offsets) {
      options.at_offset_mm = offset;
      const Shape at = measureAtRotation(mesh, rotation, options);
      text += gripText(
          offset ? pull + ", in the section " + decimalText(*offset, 1) + " mm to the right" : pull,
          at, rotation);
      if (choices.empty()) {
        shape = at;
      } else {
        shape.mutable_grips()->MergeFrom(at.grips());
        shape.mutable_sections()->MergeFrom(at.sections());
      }
      choices.push_back({rotation, offset});
    }
  return shape;
}

std::string addCuts(const TriangleMesh& mesh, const MeasureCommand& command, Shape& shape) {
  std::string text;
  if (command.planes.empty()) return text;
  const MeshTopology topology = buildTopology(mesh);
  for (std::size_t i = 0; i + 3 < command.planes.size(); i += 4) {
    const double* p = &command.planes[i];
    const PlaneCut cut = cutByPlane(mesh, topology, {p[0], p[1], p[2]}, p[3]);
    text += "cut by the plane " + decimalText(p[0], 2) + "," + decimalText(p[1], 2) + "," +
            decimalText(p[2], 2) + " at " + decimalText(p[3], 1) + " mm: area " +
            decimalText(cut.area_mm2() / 100, 2) + " cm², outline " +
            decimalText(cut.length_mm(), 1) + " mm, lines " + std::to_string(cut.lines_size()) +
            "\n";
    *shape.add_cuts() = cut;
  }
  return text;
}

/// What a file's pictures are called: as the file, with its folder's name where another file of the
/// batch has the same.
std::string pictureName(const std::string& path, const std::vector<std::string>& all) {
  const std::filesystem::path file(path);
  const std::string stem = file.stem().string();
  const auto same = [&](const std::string& other) {
    return std::filesystem::path(other).stem().string() == stem;
  };
  const std::string folder = file.parent_path().filename().string();
  return std::count_if(all.begin(), all.end(), same) > 1 && !folder.empty() ? folder + "-" + stem
                                                                            : stem;
}

/// Measures what the command line asks of one mesh; fills `text` for people.
Shape measureOne(const std::string& path, const MeasureCommand& command, const Progress& progress,
                 std::string& text) {
  const MeasureFileOptions options = fileOptions(command);
  const PreparedMesh prepared = prepareMesh(path, options);
  std::vector<SectionChoice> choices;
  Shape shape = command.one_rotation
                    ? measureChosen(prepared.mesh, command, options.measure, choices, text)
                    : measureShape(prepared.mesh, options.measure, progress);
  text += addCuts(prepared.mesh, command, shape);
  for (const std::string& note : prepared.notes) shape.add_notes(note);
  text = shapeText(shape) + text;
  if (!command.plots.empty()) {
    const std::string name = pictureName(path, command.meshes);
    for (const auto& file : writePlots(command.plots, name, prepared.mesh, shape, choices))
      text += "  wrote " + file.string() + "\n";
  }
  return shape;
}

void runBatch(const MeasureCommand& command, Console& console) {
  std::string csv = shapeCsvHeader() + "\n";
  std::size_t failed = 0;
  std::string first_failure;
  const bool csv_to_stdout = command.csv == "-";
  if (csv_to_stdout) std::fputs(csv.c_str(), stdout);
  for (std::size_t i = 0; i < command.meshes.size(); ++i) {
    const std::string& path = command.meshes[i];
    const Progress inner = console.progress();
    const Progress progress = [&](const std::string&, double done) {
      return inner("measuring " + std::to_string(command.meshes.size()) + " meshes",
                   (static_cast<double>(i) + done) / static_cast<double>(command.meshes.size()));
    };
    MeasuredFile record;
    record.set_file(path);
    std::string ignored;
    try {
      *record.mutable_shape() = measureOne(path, command, progress, ignored);
    } catch (const BadInput& error) {
      record.set_error(error.what());
      if (failed++ == 0) first_failure = error.what();
    }
    const std::string row = shapeCsvRow(record) + "\n";
    csv += row;
    console.endProgress();
    if (console.json)
      std::printf("%s\n", oneLineJson(record).c_str());
    else if (csv_to_stdout)
      std::fputs(row.c_str(), stdout);
    else
      console.say(shapeLine(record));
    std::fflush(stdout);
  }
  if (!command.csv.empty() && !csv_to_stdout) writeWhole(command.csv, csv);
  if (failed > 0)
    throw BadInput(std::to_string(failed) + " of " + std::to_string(command.meshes.size()) +
                   " files could not be measured; the first: " + first_failure);
}

void run(const MeasureCommand& command, Console& console) {
  if (command.meshes.size() > 1 || !command.csv.empty()) return runBatch(command, console);
  std::string text;
  const Shape shape = measureOne(command.meshes.front(), command, console.progress(), text);
  console.endProgress();
  console.say(text);
  console.result(shape);
}

}  // namespace

void addMeasureCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<MeasureCommand>();
  CLI::App* command =
      app.add_subcommand("measure", "Measure meshes: edges, lips, pinches, pockets, bolt seats");
  command->add_option("meshes", options->meshes, "PLY, STL, OBJ or GLB files")
      ->required()
      ->type_name("MESH...");
  command
      ->add_option("--plots", options->plots,
                   "Draw section, rose and slope map (SVG and PNG) into this folder")
      ->type_name("DIR");
  command->add_option("--csv", options->csv, "One line a file into this CSV; - is standard output")
      ->type_name("FILE");
  CLI::Option* rotation =
      command
          ->add_option("--rotation", options->rotation_deg,
                       "Only this rotation of the hold, counter-clockwise as the climber sees it")
          ->type_name("DEG");
  options->pulls = {"down"};
  CLI::Option* pull =
      command
          ->add_option("--pull", options->pulls,
                       "down, left, right, side (both), under, or degrees from down")
          ->delimiter(',')
          ->type_name("PULL");
  CLI::Option* section =
      command
          ->add_option("--section", options->sections_mm,
                       "The section so many mm to the right of the origin, not the best place")
          ->delimiter(',')
          ->type_name("MM");
  command
      ->add_option("--plane", options->planes,
                   "Cut by any plane too: its normal and its offset along it in mm")
      ->delimiter(',')
      ->type_name("X,Y,Z,MM");
  command
      ->add_option("--up", options->up_deg,
                   "What direction of the mesh is up at rotation 0, counter-clockwise from its +y")
      ->type_name("DEG");
  command->add_option("--units", options->units, "Unit of the file: mm, cm, in, m")
      ->type_name("UNIT");
  command->add_option("--step", options->step_deg, "Of the rotations of the grip map")
      ->type_name("DEG");
  command
      ->add_option("--width-depth", options->width_depth_mm,
                   "Depth that edge widths are stated for; default 0.8 of the best depth")
      ->type_name("MM");
  command->add_flag("--as-is", options->keep_frame,
                    "The mesh is in the hold frame already: do not move it");
  command->callback([options, rotation, pull, section, &job] {
    options->one_rotation = rotation->count() > 0 || pull->count() > 0 || section->count() > 0;
    if (options->planes.size() % 4 != 0)
      throw CLI::ValidationError("--plane", "give four numbers, such as 0,0,1,10");
    job = [options](Console& c) { run(*options, c); };
  });
}

}  // namespace holdshelf
