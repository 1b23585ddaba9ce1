// SPDX-License-Identifier: Apache-2.0
#include "catalog/shape_csv.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <fstream>

#include "catalog/console.h"
#include "mesh/mesh_io.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;

namespace {

/// Columns of one line; a quoted cell may hold commas.
std::size_t columns(const std::string& line) {
  std::size_t count = 1;
  bool quoted = false;
  for (char c : line) {
    quoted = quoted != (c == '"');
    count += c == ',' && !quoted;
  }
  return count;
}

struct Ran {
  int status;
  std::string out;
};
Ran measure(const std::string& arguments) {
  FILE* pipe =
      popen((std::string(HOLDSHELF_PROGRAM) + " measure " + arguments + " 2>&1").c_str(), "r");
  Ran ran{0, ""};
  char buffer[4096];
  while (std::size_t n = fread(buffer, 1, sizeof buffer, pipe)) ran.out.append(buffer, n);
  ran.status = WEXITSTATUS(pclose(pipe));
  return ran;
}

struct Folder {
  Folder() : path(std::filesystem::temp_directory_path() / "holdshelf_measure_test") {
    std::filesystem::create_directories(path);
    const ExactHold chip = holdNamed("chip");
    const TriangleMesh mesh = meshSdf(chip.solid, chip.box_mm, 1);
    writePly(path / "chip.ply", mesh);
    TriangleMesh inches = mesh;
    for (auto& v : inches.vertices_mm) v /= 25.4;
    writeStl(path / "inches.stl", inches);
    std::ofstream(path / "photo.jpg") << "\xff\xd8 not a mesh";
  }
  ~Folder() { std::filesystem::remove_all(path); }
  std::string operator/(const char* name) const { return (path / name).string(); }
  std::filesystem::path path;
};

}  // namespace

TEST_CASE("A CSV row has the header's columns, measured or not, whatever the file is called") {
  MeasuredFile good, bad;
  good.set_file("a \"b\", c.ply");
  good.mutable_shape()->mutable_protrusion_mm()->set_value(38);
  bad.set_file("x.ply");
  bad.set_error("x.ply is empty; export the mesh again.");
  CHECK(columns(shapeCsvRow(good)) == columns(shapeCsvHeader()));
  CHECK(columns(shapeCsvRow(bad)) == columns(shapeCsvHeader()));
  CHECK(shapeCsvRow(good).find("\"a \"\"b\"\", c.ply\",38.000,") == 0);
  good.set_file("=1+1.ply");
  good.mutable_shape()->mutable_protrusion_mm()->set_value(-38);
  CHECK(shapeCsvRow(good).starts_with("'=1+1.ply,-38.000,"));
  CHECK(oneLineJson(bad).find('\n') == std::string::npos);
}

TEST_CASE("measure: one mesh, one pull, a batch with a bad file, inches") {
  const Folder folder;
  const Ran one = measure((folder / "chip.ply") + " --rotation 0 --pull down,side --json");
  CHECK(one.status == 0);
  Shape shape;
  fromJson(one.out.substr(one.out.find('{')), "the output", shape);
  REQUIRE(shape.grips_size() >= 1);
  CHECK(std::abs(shape.grips(0).edge_depth_mm().value() - 8) < 0.15);
  CHECK(shape.sections_size() == 3);  // Down, left, right.

  const Ran batch =
      measure((folder / "chip.ply") + " " + (folder / "photo.jpg") + " --step 60 --csv -");
  CHECK(batch.status == 1);
  CHECK(batch.out.find("no mesh this program reads") != std::string::npos);
  CHECK(batch.out.find("1 of 2 files") != std::string::npos);

  const Ran inches = measure(folder / "inches.stl");
  CHECK(inches.status == 1);
  CHECK(inches.out.find("--units in") != std::string::npos);
  CHECK(measure((folder / "inches.stl") + " --units in --step 90").status == 0);
  CHECK(measure((folder / "chip.ply") + " --pull sideways").status == 1);

  const Ran plots = measure((folder / "chip.ply") + " --step 30 --plots " + (folder / "plots"));
  CHECK(plots.status == 0);
  for (const char* name : {"plots/chip-rose.svg", "plots/chip-rose.png", "plots/chip-slope.png"})
    CHECK(std::filesystem::file_size(folder / name) > 5000);
}
