// SPDX-License-Identifier: Apache-2.0
#include <memory>

#include "catalog/commands/command.h"
#include "catalog/mesh_intake.h"
#include "catalog/show_text.h"

namespace holdshelf {

void addShelveCommand(CLI::App& app, Job& job) {
  struct Options {
    std::filesystem::path library, mesh;
    IntakeLabels labels;
  };
  const auto options = std::make_shared<Options>();
  CLI::App* command =
      app.add_subcommand("shelve", "Measure a ready-made mesh and put it in the library");
  addLibraryOption(command, options->library);
  IntakeLabels& labels = options->labels;
  command->add_option("mesh", options->mesh, "PLY, STL, OBJ or GLB, its back flat")
      ->required()
      ->type_name("FILE");
  command->add_option("--id", labels.id, "Id of the new hold (the next free H-0001)")
      ->type_name("ID");
  command->add_option("--name", labels.name, "Name")->type_name("N");
  command->add_option("--bin", labels.bin, "Bin")->type_name("B");
  command->add_option("--set", labels.set, "Set that it belongs to")->type_name("S");
  command->add_option("--colour", labels.colour, "Colour (the mesh's own)")->type_name("NAME");
  command->add_option("--count", labels.count, "Identical pieces (1)")
      ->check(CLI::Range(1, 100000));
  command->callback([options, &job] {
    job = [options](Console& console) {
      const Hold hold =
          shelveMesh(options->library, options->mesh, options->labels, console.progress());
      console.endProgress();
      console.say(showText(hold));
      console.result(hold);
    };
  });
}

}  // namespace holdshelf
