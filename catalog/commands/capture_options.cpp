// SPDX-License-Identifier: Apache-2.0
#include "catalog/commands/capture_options.h"

#include <charconv>
#include <cstdlib>

#include "capture/mat_file.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

/// Numbers between single separators; empty when any part is no number.
std::vector<double> parseNumbers(const std::string& text, char separator) {
  std::vector<double> numbers;
  std::size_t start = 0;
  while (start <= text.size()) {
    const std::size_t end = std::min(text.find(separator, start), text.size());
    double value = 0;
    const char* last = text.data() + end;
    const auto [stop, error] = std::from_chars(text.data() + start, last, value);
    if (error != std::errc{} || stop != last) return {};
    numbers.push_back(value);
    start = end + 1;
  }
  return numbers;
}

Eigen::AlignedBox3d parseBox(const std::string& text, double unit_mm) {
  const std::vector<double> n = parseNumbers(text, ',');
  if (n.size() != 6)
    throw BadInput("--box " + text + " is no box: write six numbers x0,y0,z0,x1,y1,z1.");
  const Eigen::AlignedBox3d box(unit_mm * Eigen::Vector3d(n[0], n[1], n[2]),
                                unit_mm * Eigen::Vector3d(n[3], n[4], n[5]));
  if ((box.sizes().array() <= 0).any())
    throw BadInput("--box " + text + " is empty: write the smaller corner first.");
  return box;
}

/// Where the XDG base directory specification puts what can be made again; empty: nowhere.
std::filesystem::path userCache() {
  const auto variable = [](const char* name) {
    const char* value = std::getenv(name);
    return std::filesystem::path(value ? value : "");
  };
  const std::filesystem::path cache = variable("XDG_CACHE_HOME"), home = variable("HOME");
  if (cache.is_absolute()) return cache / "holdshelf";
  return home.is_absolute() ? home / ".cache" / "holdshelf" : std::filesystem::path();
}

Quality parseQuality(const std::string& word) {
  if (word == "draft") return Quality::Draft;
  return word == "fine" ? Quality::Fine : Quality::Normal;
}

}  // namespace

double scaleFromRuler(const std::string& text) {
  const std::vector<double> lengths = parseNumbers(text, '=');
  if (lengths.size() != 2 || !(lengths[0] > 0) || !(lengths[1] > 0))
    throw BadInput(
        "--ruler " + text +
        " is no pair of lengths: write what the print says and what your ruler measures, "
        "e.g. 100=98.2.");
  const double scale = lengths[1] / lengths[0];
  if (scale < 0.8 || scale > 1.25)
    throw BadInput("--ruler " + text +
                   " puts the print off by more than a quarter: check that both "
                   "lengths are in mm and in the order printed=measured.");
  return scale;
}

void addCaptureFlags(CLI::App* command, CaptureFlags& flags) {
  command->add_option("photos", flags.photos, "Photos of one hold, JPEG or PNG")
      ->required()
      ->type_name("PHOTO");
  command->add_option("--mat", flags.mat, "The mat in the photos")->type_name("MAT.json");
  CLI::Option* scale = command
                           ->add_option("--mat-scale", flags.mat_scale,
                                        "True length over nominal length of the print (1, or what "
                                        "the sheet's own edges say where it is off)")
                           ->check(CLI::Range(0.8, 1.25))
                           ->type_name("F");
  command
      ->add_option("--ruler", flags.ruler,
                   "Derives --mat-scale: a length as printed and as measured, e.g. 100=98.2")
      ->excludes(scale)
      ->type_name("NOMINAL=MEASURED");
  command->add_option("--cameras", flags.cameras, "Known cameras instead of a mat")
      ->type_name("FILE");
  command->add_option("--box", flags.box, "Bounds of the object, with --cameras")
      ->type_name("x0,y0,z0,x1,y1,z1");
  command->add_option("--units", flags.units, "Unit of the cameras and the box (mm)")
      ->check(CLI::IsMember({"mm", "m"}));
  command->add_option("--quality", flags.quality, "draft, normal or fine (normal)")
      ->check(CLI::IsMember({"draft", "normal", "fine"}));
  command
      ->add_option("--scratch", flags.scratch,
                   "Keeps finished stages, so that the same rebuild goes on where it stopped "
                   "(~/.cache/holdshelf)")
      ->type_name("DIR");
  command->add_flag("--fresh", flags.fresh, "Use no finished stages and keep none");
}

RebuildOptions rebuildOptions(const CaptureFlags& flags) {
  for (const auto& photo : flags.photos)
    if (!std::filesystem::exists(photo))
      throw BadInput("There is no photo " + photo.string() + ": check the name and the folder.");
  RebuildOptions options;
  options.mat_scale =
      flags.ruler.empty() ? flags.mat_scale.value_or(1) : scaleFromRuler(flags.ruler);
  options.scale_from_sheet = flags.ruler.empty() && !flags.mat_scale;
  options.quality = parseQuality(flags.quality);
  options.cameras_unit_mm = flags.units == "m" ? 1000 : 1;
  if (!flags.fresh) options.stages_folder = flags.scratch.empty() ? userCache() : flags.scratch;
  if (!flags.cameras.empty()) options.cameras_file = flags.cameras;
  if (!flags.box.empty()) options.box_mm = parseBox(flags.box, options.cameras_unit_mm);
  return options;
}

std::optional<Mat> matOf(const CaptureFlags& flags) {
  if (!flags.mat.empty() && !flags.cameras.empty())
    throw BadInput(
        "--mat and --cameras exclude each other: give the mat in the photos, or cameras "
        "that are known already.");
  if (!flags.mat.empty()) return readMat(flags.mat);
  if (flags.cameras.empty())
    throw BadInput(
        "Neither --mat nor --cameras is given: name the mat that the hold was "
        "photographed on.");
  if (flags.box.empty())
    throw BadInput("--cameras needs --box x0,y0,z0,x1,y1,z1, the bounds of the object.");
  return std::nullopt;
}

}  // namespace holdshelf
