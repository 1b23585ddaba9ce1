// SPDX-License-Identifier: Apache-2.0
#include "catalog/mesh_intake.h"

#include <doctest/doctest.h>

#include "catalog/blob_store.h"
#include "mesh/mesh_io.h"
#include "tests/catalog/temp_folder.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using holdshelf::test::TempFolder;

TEST_CASE("shelveMesh: a mesh and the colour that a person calls it are one commit") {
  TempFolder folder;
  const ExactHold dome = domeHold(30, 20);
  writeFileDurably(folder / "dome.ply", plyBytes(meshSdf(dome.solid, dome.box_mm, 6)));
  IntakeLabels labels;
  labels.name = "Boulder";
  labels.who = "Kim";
  labels.colour = "vivid red";
  const Hold hold = shelveMesh(folder / "l", folder / "dome.ply", labels, {});
  CHECK(hold.name() == "Boulder");
  CHECK(hold.scans_size() == 1);
  CHECK(hold.colour().name() == "vivid red");
  const Library library = Library::open(folder / "l");
  CHECK(library.store().batches().size() == 1);
  for (const Event& event : library.history(hold.id())) CHECK(event.who() == "Kim");
}
