// SPDX-License-Identifier: Apache-2.0
// photobooth: photographs an exactly known hold on a marker mat. See tests/photobooth/README.md.
#include <CLI/CLI.hpp>
#include <cstdio>
#include <exception>

#include "tests/photobooth/booth.h"
#include "tests/photobooth/mishap.h"

int main(int argc, char** argv) {
  using namespace holdshelf;
  BoothOptions o;
  std::string shape = "edge", out, colour = "red", wrong;
  CLI::App app("Photographs a hold of exactly known shape on a marker mat.");
  app.add_option("--shape", shape, "Which hold")->capture_default_str();
  app.add_option("--out", out, "Folder to write; must not exist")->required();
  app.add_option("--photos", o.rig.photos)->capture_default_str()->check(CLI::PositiveNumber);
  app.add_option("--width", o.width_px)->capture_default_str()->check(CLI::Range(16, 8192));
  app.add_option("--height", o.height_px)->capture_default_str()->check(CLI::Range(16, 8192));
  app.add_option("--fov", o.field_of_view_deg, "Horizontal, degrees")->capture_default_str();
  app.add_option("--fill", o.fill, "Hold's extent over the picture's height")
      ->capture_default_str();
  app.add_option("--rings", o.rig.rings_deg, "Camera heights, degrees")
      ->delimiter(',')
      ->capture_default_str();
  app.add_option("--above", o.rig.above, "More photos, from 80 degrees, into the bolt hole")
      ->capture_default_str();
  app.add_option("--seed", o.seed)->capture_default_str();
  app.add_option("--colour", colour, "Name or #rrggbb")->capture_default_str();
  app.add_option("--texture", o.stage.paint.texture, "Grit: 1 rough, 0.1 smooth")
      ->capture_default_str();
  app.add_option("--gloss", o.stage.paint.gloss, "0 to 1")->capture_default_str();
  app.add_option("--chalk", o.stage.paint.chalk, "0 to 1")->capture_default_str();
  app.add_option("--cell", o.stage.mesh_cell_mm, "Fineness of the hold's triangles, mm")
      ->capture_default_str();
  app.add_option("--clutter", o.stage.clutter, "Things in the background")->capture_default_str();
  app.add_option("--ambient", o.stage.ambient, "Share of the light that comes from everywhere")
      ->capture_default_str();
  app.add_option("--light-size", o.stage.light_size, "Small: hard shadows")->capture_default_str();
  app.add_flag("--turntable", o.stage.turntable, "The mat turns under a fixed camera");
  app.add_option("--mat", o.mat.paper, "A4, A3 or A2")->capture_default_str();
  app.add_option("--marker", o.mat.marker_mm, "Side, mm")->capture_default_str();
  app.add_option("--gap", o.mat.gap_mm, "Between markers, mm")->capture_default_str();
  app.add_option("--bend", o.mat.bend_mm, "Paper lifts off by up to, mm")->capture_default_str();
  app.add_option("--print-scale", o.mat.print_scale)->capture_default_str();
  app.add_option("--aperture", o.lens.aperture_mm, "Lens opening, mm")->capture_default_str();
  app.add_option("--samples", o.lens.samples, "Rays a pixel")->capture_default_str();
  app.add_option("--quality", o.jpeg_quality, "JPEG")->capture_default_str();
  std::string help = "Let one thing go wrong:";
  for (const Mishap& m : mishaps()) help += "\n  " + m.name + ": " + m.what;
  app.add_option("--wrong", wrong, help);
  CLI11_PARSE(app, argc, argv);
  try {
    o.stage.paint.albedo_bgr = colourNamed(colour);
    o.stage.seed = o.mat.seed = o.seed;
    if (!wrong.empty()) letGoWrong(wrong, o);
    photograph(holdNamed(shape), o, out, [](const std::string& stage, double done) {
      std::fprintf(stderr, "\r%s %3.0f %%", stage.c_str(), 100 * done);
      return true;
    });
    std::fprintf(stderr, "\r%s written.      \n", out.c_str());
  } catch (const std::exception& e) {
    std::fprintf(stderr, "\nphotobooth: %s\n", e.what());
    return 1;
  }
  return 0;
}
