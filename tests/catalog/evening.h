// SPDX-License-Identifier: Apache-2.0
// A small invented gym with one crate, and holds of exactly known shape.
#pragma once
#include <fstream>
#include <string>

#include "catalog/climbs.h"
#include "catalog/gym.h"
#include "catalog/mesh_intake.h"
#include "mesh/mesh_io.h"
#include "tests/catalog/temp_folder.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

namespace holdshelf::test {

/// The demo's evening holds (tests/bench/evening_holds_bench.cpp says their dimensions).
struct Evening {
  TempFolder folder;
  Library library = Library::openOrCreate(folder / "l");

  Evening() {
    Gym gym;
    Zone& zone = zoneToEdit(gym, "wave");
    for (const char* name : {"lower", "top"}) {
      WallPanel& panel = panelToEdit(zone, name);
      panel.set_wall_angle_deg(std::string(name) == "lower" ? 20 : 5);
      panel.mutable_fixing()->set_thread(M10);
      panel.mutable_fixing()->set_panel_mm(18);
      panel.mutable_fixing()->set_barrel_mm(11);
      panel.set_columns(10);
      panel.set_rows(std::string(name) == "lower" ? 10 : 6);
      panel.set_pitch_mm(150);
    }
    WallFeature& edge = *panelToEdit(zone, "top").add_features();
    edge.set_name("top-out");
    edge.set_kind(WallFeature::TOP_EDGE);
    edge.set_at_mm(900);
    describeGym(library, gym);
    Climb climb;
    climb.set_name("green 1");
    climb.set_zone("wave");
    climb.set_colour("green");
    startClimb(library, climb);
  }

  void shelve(const std::string& id, const std::string& file, const std::string& colour = "green") {
    IntakeLabels labels;
    labels.id = id;
    labels.name = file;
    labels.bin = "A1";
    labels.colour = colour;
    shelveMesh(folder / "l", HOLDSHELF_SOURCE_DIR "/testdata/demo/evening/" + file + ".ply", labels,
               {});
  }

  /// A hold built from its dimensions, as a mesh.
  void shelveSolid(const std::string& id, const ExactHold& solid,
                   const std::string& colour = "green", double cell_mm = 1.2) {
    const auto file = folder / (id + ".ply");
    std::ofstream(file, std::ios::binary) << plyBytes(meshSdf(solid.solid, solid.box_mm, cell_mm));
    IntakeLabels labels;
    labels.id = id;
    labels.name = solid.name;
    labels.bin = "A1";
    labels.colour = colour;
    shelveMesh(folder / "l", file, labels, {});
  }

  void place(const std::string& hold, const std::string& panel, int row, double rotation_deg = 0) {
    placeAt(hold, panel, 3, row, rotation_deg);
  }
  void placeAt(const std::string& hold, const std::string& panel, int column, int row,
               double rotation_deg = 0) {
    Placement placement;
    placement.set_panel(panel);
    placement.set_column(column);
    placement.set_row(row);
    placement.set_rotation_deg(rotation_deg);
    placeHold(library, "C-0001", hold, placement);
    recordBolt(library, "C-0001", hold, "M10 × 40");
  }
};

}  // namespace holdshelf::test
