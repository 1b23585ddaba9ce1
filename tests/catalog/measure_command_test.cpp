// SPDX-License-Identifier: Apache-2.0
// `holdshelf measure` as people meet it: chosen sections, batches, and what is no hold.
#include <doctest/doctest.h>

#include <cmath>
#include <cstdio>
#include <fstream>
#include <limits>
#include <sstream>

#include "catalog/console.h"
#include "mesh/mesh_io.h"
#include "proto/shape.pb.h"
#include "tests/catalog/run_program.h"
#include "tests/catalog/temp_folder.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

namespace fs = std::filesystem;

TriangleMesh chipMesh() {
  const ExactHold chip = holdNamed("chip");
  return meshSdf(chip.solid, chip.box_mm, 1);
}

void write(const fs::path& file, const std::string& bytes) {
  std::ofstream(file, std::ios::binary)
      .write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
}

std::vector<std::string> linesOf(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  return lines;
}

/// The last line said on standard error, after what progress said.
std::string lastLine(const std::string& err) {
  const auto lines = linesOf(err);
  return lines.empty() ? "" : lines.back();
}

}  // namespace

TEST_CASE("measure --section: the depth where it is asked for, not the best") {
  // A step over a floor that rises by 0.16 mm a mm to the right: 30 mm deep in the middle.
  const TempFolder folder;
  const Sdf block = translate(box({50, 30, 20}), {0, 0, 20});
  const Eigen::Vector3d up(-0.16, 0, 1);
  const Sdf floor = halfSpace(up.normalized(), 10 * up.normalized().z());
  const Sdf solid =
      intersect(unite(intersect(block, halfSpace({0, 1, 0}, 0)), intersect(block, floor)),
                halfSpace({0, 0, -1}, 0));
  writePly(folder / "wedge.ply",
           meshSdf(solid, {Eigen::Vector3d(-51, -31, -1), Eigen::Vector3d(51, 31, 41)}, 1));
  const auto run = runProgram({"measure", (folder / "wedge.ply").string(), "--as-is", "--section",
                               "-25,0,25", "--json", "--plots", (folder / "p").string()});
  REQUIRE(run.status == 0);
  Shape shape;
  fromJson(run.out, "the output", shape);
  REQUIRE(shape.grips_size() == 3);
  for (const Grip& grip : shape.grips()) {
    CAPTURE(grip.offset_mm());
    CHECK(std::abs(grip.edge_depth_mm().value() - (30 - 0.16 * grip.offset_mm())) < 0.15);
  }
  CHECK(shape.grips(0).offset_mm() == -25);
  CHECK(shape.grips(2).offset_mm() == 25);
  for (const char* name : {"wedge-section-000-25.0-left.svg", "wedge-section-000-0.0-right.png",
                           "wedge-section-000-25.0-right.png"})
    CHECK(fs::exists(folder / "p" / name));
  const auto miss =
      runProgram({"measure", (folder / "wedge.ply").string(), "--as-is", "--section", "80"});
  CHECK(miss.status == 1);
  CHECK(lastLine(miss.err).find("reaches from -50.0 to 50.0 mm") != std::string::npos);
}

TEST_CASE("measure --pull: the same edge down, to both sides and as an undercling") {
  const TempFolder folder;
  writePly(folder / "chip.ply", chipMesh());
  // The edge faces up at rotation 0. Turned counter-clockwise by 90 it faces left and is pulled to
  // the right; by 180 it faces down, by 270 right.
  for (const auto& [rotation, pull] : {std::pair<const char*, const char*>{"0", "down"},
                                       {"90", "right"},
                                       {"180", "under"},
                                       {"270", "left"},
                                       {"45", "45"}}) {
    INFO(pull);
    const auto run = runProgram({"measure", (folder / "chip.ply").string(), "--as-is", "--rotation",
                                 rotation, "--pull", pull, "--json"});
    REQUIRE(run.status == 0);
    Shape shape;
    fromJson(run.out, "the output", shape);
    REQUIRE(shape.grips_size() == 1);
    CHECK(std::abs(shape.grips(0).edge_depth_mm().value() - 8) < 0.15);
    CHECK(std::abs(shape.grips(0).incut_deg().value()) < 1);
  }
}

TEST_CASE("measure --plane: a cut by any plane") {
  const TempFolder folder;
  const ExactHold dome = domeHold(40, 40);
  writePly(folder / "dome.ply", meshSdf(dome.solid, dome.box_mm, 1));
  const auto run = runProgram({"measure", (folder / "dome.ply").string(), "--as-is", "--rotation",
                               "0", "--plane", "0,0,1,24", "--plane", "1,1,0,0", "--json"});
  REQUIRE(run.status == 0);
  Shape shape;
  fromJson(run.out, "the output", shape);
  REQUIRE(shape.cuts_size() == 2);
  CHECK(shape.cuts(0).area_mm2() == doctest::Approx(M_PI * 32 * 32).epsilon(2e-3));
  CHECK(shape.cuts(1).area_mm2() == doctest::Approx(M_PI * 1600 / 2).epsilon(5e-3));
  CHECK(runProgram({"measure", (folder / "dome.ply").string(), "--plane", "0,0,1"}).status != 0);
}

TEST_CASE("measure: what is no hold gets one sentence and a status, and little memory") {
  const TempFolder folder;
  const TriangleMesh chip = chipMesh();
  TriangleMesh nan = chip, huge = chip, tiny = chip, far = chip;
  nan.vertices_mm[100].y() = std::numeric_limits<double>::quiet_NaN();
  for (auto& v : huge.vertices_mm) v *= 1e6;
  for (auto& v : tiny.vertices_mm) v *= 1e-6;
  far.vertices_mm[100] *= 1e6;  // One spike.
  writePly(folder / "nan.ply", nan);
  writePly(folder / "huge.ply", huge);
  writePly(folder / "tiny.ply", tiny);
  writePly(folder / "far.ply", far);
  write(folder / "empty.ply", "");
  write(folder / "photo.jpg", "\xff\xd8\xff\xe0 a photo");
  write(folder / "none.ply",
        "ply\nformat ascii 1.0\nelement vertex 0\nproperty float x\nproperty float y\nproperty "
        "float z\nelement face 0\nproperty list uchar int vertex_indices\nend_header\n");
  // Two thousand million bytes of vertices, says the header.
  write(folder / "liar.ply",
        "ply\nformat binary_little_endian 1.0\nelement vertex 166666667\nproperty float "
        "x\nproperty float y\nproperty float z\nelement face 1\nproperty list uchar int "
        "vertex_indices\nend_header\nshort");
  std::string liar(84 + 50, '\0');
  liar[80] = liar[81] = liar[82] = '\xff', liar[83] = '\x02';
  write(folder / "liar.stl", liar);
  for (const char* name : {"nan.ply", "huge.ply", "tiny.ply", "far.ply", "empty.ply", "photo.jpg",
                           "none.ply", "liar.ply", "liar.stl", "missing.ply"}) {
    CAPTURE(name);
    const auto run = runProgram({"measure", (folder / name).string()});
    CAPTURE(run.err);
    CHECK(run.status == 1);
    CHECK(isOneSentence(lastLine(run.err) + "\n"));
    CHECK(run.out.empty());
  }
#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)  // They reserve terabytes.
  // The same under a limit of memory that the headers' promises do not fit into.
  for (const char* name : {"liar.ply", "liar.stl"}) {
    const std::string line = "ulimit -v 1000000; " + std::string(HOLDSHELF_PROGRAM) + " measure " +
                             (folder / name).string() + " 2>&1";
    FILE* pipe = popen(line.c_str(), "r");
    std::string said(4096, '\0');
    said.resize(fread(said.data(), 1, said.size(), pipe));
    CHECK(WEXITSTATUS(pclose(pipe)) == 1);
    CHECK(said.find("promises") != std::string::npos);
  }
#endif
}

TEST_CASE(
    "measure: a batch gives one line a file, in CSV and JSON, with progress, past bad files") {
  const TempFolder folder;
  fs::create_directories(folder / "a");
  fs::create_directories(folder / "b");
  writePly(folder / "a" / "hold.ply", chipMesh());
  const ExactHold fin = holdNamed("fin");
  writePly(folder / "b" / "hold.ply", meshSdf(fin.solid, fin.box_mm, 1.2));
  write(folder / "bad.ply", "no mesh");
  const std::vector<std::string> files = {(folder / "a" / "hold.ply").string(),
                                          (folder / "bad.ply").string(),
                                          (folder / "b" / "hold.ply").string()};
  std::vector<std::string> words = {
      "measure", files[0], files[1], files[2],  "--step",
      "90",      "--csv",  "-",      "--plots", (folder / "p").string()};
  const auto csv = runProgram(words);
  CHECK(csv.status == 1);
  const auto rows = linesOf(csv.out);
  REQUIRE(rows.size() == 4);
  CHECK(rows[0].find("file,protrusion") == 0);
  for (int i = 0; i < 3; ++i) CHECK(rows[static_cast<std::size_t>(i) + 1].find(files[i]) == 0);
  CHECK(csv.err.find("measuring 3 meshes") != std::string::npos);
  CHECK(lastLine(csv.err).find("1 of 3 files") != std::string::npos);
  // Files of one name keep their pictures apart.
  CHECK(fs::exists(folder / "p" / "a-hold-slope.png"));
  CHECK(fs::exists(folder / "p" / "b-hold-slope.png"));

  words = {"measure", files[0], files[1], files[2], "--step", "90", "--json"};
  const auto json = linesOf(runProgram(words).out);
  REQUIRE(json.size() == 3);
  for (std::size_t i = 0; i < 3; ++i) {
    MeasuredFile record;
    fromJson(json[i], "a line", record);
    CHECK(record.file() == files[i]);
    CHECK(record.error().empty() == (i != 1));
    CHECK((record.shape().protrusion_mm().value() > 0) == (i != 1));
  }
}
