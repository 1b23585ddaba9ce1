// SPDX-License-Identifier: Apache-2.0
// The commands that judge grips, as a person runs them.
#include <doctest/doctest.h>

#include <algorithm>
#include <fstream>
#include <sstream>
#include <utility>

#include "catalog/console.h"
#include "catalog/library.h"
#include "proto/grip_verdict.pb.h"
#include "tests/catalog/run_program.h"
#include "tests/catalog/temp_folder.h"
#include "tests/shapes/faceted_shape.h"

using namespace holdshelf;
using namespace holdshelf::test;

static void store(Library& library, const std::string& name, const std::string& bin, Status status,
                  const Shape& shape) {
  Event made, scanned;
  made.mutable_created()->set_name(name);
  made.mutable_created()->set_bin(bin);
  made.mutable_created()->set_status(status);
  scanned.mutable_scanned()->set_id(name);
  *scanned.mutable_scanned()->mutable_shape() = shape;
  library.commit({made, scanned});
}

/// H-0001 a crimp, H-0002 a chip, H-0003 a retired chip.
static void fill(const TempFolder& folder) {
  Library library = Library::openOrCreate(folder.path());
  const Shape chip = facetedShape({{.depth_mm = 7, .width_mm = 26}});
  store(library, "Heron", "A1", SHELF, facetedShape({{.depth_mm = 14.2, .width_mm = 62}}));
  store(library, "Button", "F2", SHELF, chip);
  store(library, "Old button", "F2", RETIRED, chip);
}

static bool contains(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

TEST_CASE("feet: the chip serves, the crimp does not and says why, what is retired stays away") {
  TempFolder folder;
  fill(folder);
  const std::string library = folder.path().string();
  const ProgramRun run = runProgram({"feet", "--library", library});
  CHECK(run.status == 0);
  CHECK(contains(run.out, "H-0002"));
  CHECK_FALSE(contains(run.out, "H-0001"));
  CHECK_FALSE(contains(run.out, "H-0003"));
  CHECK(contains(run.out, "of a deep edge"));
  CHECK(contains(run.out, "Test climb before opening."));
  const ProgramRun all = runProgram({"feet", "--library", library, "--all", "--json"});
  FootRanking ranking;
  fromJson(all.out, "ranking", ranking);
  REQUIRE(ranking.choices_size() == 2);
  CHECK(ranking.choices(0).hold_id() == "H-0002");
  CHECK(ranking.choices(0).chosen());
  CHECK(contains(ranking.choices(1).sentence(), "Too grabbable: flat edge 14.2 ± 0.2 mm deep"));
  CHECK(
      contains(runProgram({"feet", "--library", library, "--all"}).out, "A toe gets: toe contact"));
  CHECK(contains(runProgram({"feet", "--library", library, "--bin", "A1"}).out, "0 of 1 holds"));
  CHECK(contains(runProgram({"feet", "--library", library, "--wall-angle", "55"}).out, "0 of 2"));
}

TEST_CASE("show: answers for a mounting, in text and JSON, and draws the rose") {
  TempFolder folder;
  fill(folder);
  const std::string library = folder.path().string();
  const ProgramRun text = runProgram({"show", "H-0001", "--library", library, "--rotation", "90",
                                      "--wall-angle", "5", "--pull", "90"});
  CAPTURE(text.err);
  CHECK(text.status == 0);
  CHECK(contains(text.out, "crimp"));
  CHECK(contains(text.out, "Too grabbable"));
  const ProgramRun json =
      runProgram({"show", "H-0001", "--library", library, "--rotation", "0", "--json"});
  GripVerdict verdict;
  fromJson(json.out, "verdict", verdict);
  CHECK(verdict.too_grabbable() == GripVerdict::YES);
  CHECK(verdict.hand().fingers() == 4);
  const std::string rose = (folder / "rose.svg").string();
  CHECK(runProgram({"show", "H-0001", "--library", library, "--rose", rose}).status == 0);
  std::ifstream file(rose);
  std::stringstream svg;
  svg << file.rdbuf();
  CHECK(contains(svg.str(), "H-0001 Heron"));
  const std::string picture = (folder / "rose.png").string();
  CHECK(runProgram({"show", "H-0001", "--library", library, "--rose", picture}).status == 0);
  std::ifstream png(picture, std::ios::binary);
  char signature[8] = {};
  png.read(signature, 8);
  CHECK(std::string(signature, 8) == "\x89PNG\r\n\x1a\n");
  const ProgramRun wrong = runProgram(
      {"show", "H-0001", "--library", library, "--rose", (folder / "rose.jpg").string()});
  CHECK(wrong.status == 1);
  CHECK(isOneSentence(wrong.err));
}

TEST_CASE(
    "show: the whole answer for a mounting; what cures it, lip, platform, room, other words") {
  TempFolder folder;
  Library made = Library::openOrCreate(folder.path());
  // A crimp that turned upside down is a chip.
  store(made, "Two ways", "A1", SHELF,
        facetedShape({{.facing_deg = 90, .depth_mm = 14.2, .width_mm = 62, .sigma_mm = 0.3},
                      {.facing_deg = -90, .depth_mm = 7, .width_mm = 26}}));
  const std::string library = folder.path().string();
  const ProgramRun run =
      runProgram({"show", "H-0001", "--library", library, "--rotation", "0", "--wall-angle", "0"});
  CHECK(run.status == 0);
  CAPTURE(run.out);
  CHECK(contains(run.out,
                 "Too grabbable: flat edge 14.2 ± 0.3 mm deep over 62 mm: four fingers, 0."));
  CHECK(contains(run.out, " of a jug; turned to "));
  CHECK(contains(run.out, "of a deep edge; for hands only "));
  CHECK(contains(run.out, "positive for this pull: "));
  CHECK(contains(run.out, "to press down or stand up on"));
  CHECK_FALSE(contains(run.out, "± 0.00"));
  CHECK_FALSE(contains(run.out, "± 0.0 "));
  // The cure holds: turned to the middle of the range it says, it is a foothold.
  GripVerdict verdict, cured;
  fromJson(runProgram({"show", "H-0001", "--library", library, "--rotation", "0", "--json"}).out,
           "verdict", verdict);
  REQUIRE(verdict.foot_ranges_size() > 0);
  const std::string best = std::to_string(verdict.foot_ranges(0).best_deg());
  fromJson(runProgram({"show", "H-0001", "--library", library, "--rotation", best, "--json"}).out,
           "verdict", cured);
  CHECK(cured.too_grabbable() == GripVerdict::NO);
  CHECK(cured.serves_toe() == GripVerdict::YES);
  CHECK(contains(cured.sentence(), "Foothold: "));
  REQUIRE(verdict.hands_size() == 1);
  CHECK(verdict.hands(0).word() == "crimp");
}

/// A ledge in section, 30 mm deep, with a roof of the same depth over it if wanted.
static Shape ledgeUnder(double roof_above_mm) {
  Shape shape = facetedShape({{.depth_mm = 30, .width_mm = 100, .distance_mm = 40}});
  Section& section = *shape.add_sections();
  const auto point = [&](double u, double z) {
    Point2& p = *section.add_points_mm();
    p.set_x(u);
    p.set_y(z);
  };
  point(-40, 0), point(-40, 30), point(40, 30), point(40, 0);
  if (roof_above_mm > 0)
    point(40 + roof_above_mm, 0), point(40 + roof_above_mm, 30), point(90 + roof_above_mm, 30);
  return shape;
}

TEST_CASE("show: room over the ledge, and open is said as such") {
  TempFolder folder;
  Library made = Library::openOrCreate(folder.path());
  store(made, "Open", "A1", SHELF, ledgeUnder(0));
  store(made, "Slot", "A1", SHELF, ledgeUnder(22));
  const auto verdict = [&](const std::string& id) {
    GripVerdict v;
    fromJson(
        runProgram({"show", id, "--library", folder.path().string(), "--rotation", "0", "--json"})
            .out,
        "verdict", v);
    return v;
  };
  CHECK(verdict("H-0001").room().open_above());
  CHECK(verdict("H-0001").room().fits_hand());
  CHECK_FALSE(verdict("H-0002").room().open_above());
  CHECK(verdict("H-0002").room().above_mm() == doctest::Approx(22));
  CHECK_FALSE(verdict("H-0002").room().fits_hand());  // DGUV 201-015: 35 mm.
}

TEST_CASE("show: a belly below the lip bends the wrist, unless the wall leans far enough") {
  TempFolder folder;
  Library made = Library::openOrCreate(folder.path());
  Shape bellied =
      facetedShape({{.depth_mm = 30, .width_mm = 100, .incut_deg = 20, .distance_mm = 40}});
  Section& section = *bellied.add_sections();
  for (const auto& [u, z] : {std::pair{-60.0, 0.0}, {-40, 120}, {40, 30}, {40, 0}}) {
    Point2& p = *section.add_points_mm();
    p.set_x(u);
    p.set_y(z);
  }
  for (Grip& grip : *bellied.mutable_grips()) grip.set_lip_z_mm(30);
  store(made, "Belly", "A1", SHELF, bellied);
  const auto show = [&](const std::string& wall_angle) {
    return runProgram({"show", "H-0001", "--library", folder.path().string(), "--rotation", "0",
                       "--wall-angle", wall_angle})
        .out;
  };
  // 90 mm out over 80 mm down: atan = 48 degrees, 18 on a wall of 30.
  CHECK(contains(show("0"), "bends the wrist by 48°, too far to pull on"));
  CHECK(contains(show("30"), "bends the wrist by 18°\n"));
}

TEST_CASE("show: the words of every rotation change with the wall angle") {
  TempFolder folder;
  Library made = Library::openOrCreate(folder.path());
  store(made, "Ledge", "A1", SHELF,
        facetedShape({{.depth_mm = 40, .width_mm = 110, .lip_radius_mm = 4}}));
  const auto words = [&](const std::string& wall_angle) {
    const std::string out = runProgram({"show", "H-0001", "--library", folder.path().string(),
                                        "--wall-angle", wall_angle})
                                .out;
    return out.substr(std::min(out.size(), out.find("pulled straight down, turned to:")));
  };
  CHECK(contains(words("-15"), "jug "));
  CHECK(contains(words("0"), "edge "));
  CHECK_FALSE(contains(words("0"), "jug "));
  CHECK(contains(words("25"), "sloper "));
  CHECK(words("60").empty());  // Steeper than any skin or rubber holds.
}

TEST_CASE("show: within its uncertainty of a threshold the verdict is borderline") {
  TempFolder folder;
  Library made = Library::openOrCreate(folder.path());
  store(made, "Near", "A1", SHELF,
        facetedShape({{.depth_mm = 12, .width_mm = 80, .sigma_mm = 0.5}}));
  const auto show = [&](const std::string& threshold) {
    return runProgram({"show", "H-0001", "--library", folder.path().string(), "--rotation", "0",
                       "--threshold", threshold});
  };
  GripVerdict verdict;
  fromJson(runProgram(
               {"show", "H-0001", "--library", folder.path().string(), "--rotation", "0", "--json"})
               .out,
           "verdict", verdict);
  const double just_below = verdict.strongest().fraction_of_jug() - verdict.strongest().sigma() / 2;
  CHECK(
      contains(show("too_grabbable=" + std::to_string(just_below)).out, "Borderline grabbable: "));
  CHECK(contains(show("too_grabbable=0.3").out, "Too grabbable: "));
}

TEST_CASE("compression: one hold's faces, two holds apart, and what is asked wrongly") {
  TempFolder folder;
  Library made = Library::openOrCreate(folder.path());
  store(made, "Block", "A1", SHELF, opposedFaces(-4));
  store(made, "Incut block", "A1", SHELF, opposedFaces(15));
  const std::string library = folder.path().string();
  const ProgramRun one = runProgram({"compression", "H-0001", "--library", library});
  CHECK(one.status == 0);
  CHECK(contains(one.out, "turned to 180°: faces 36"));
  CHECK(contains(one.out, "needs a friction of 0."));
  CHECK(contains(one.out, "Test climb before opening."));
  CHECK(contains(runProgram({"compression", "H-0002", "--library", library}).out,
                 "positive lips are pulled on"));
  CompressionList list;
  fromJson(runProgram({"compression", "H-0001", "H-0001", "--apart", "300", "--span", "500..900",
                       "--library", library, "--json"})
               .out,
           "list", list);
  REQUIRE(list.pairs_size() > 0);
  CHECK(list.pairs(0).span_mm() == doctest::Approx(660).epsilon(0.02));
  for (const auto& wrong : std::vector<std::vector<std::string>>{
           {"H-0001", "H-0002"}, {"H-0001", "--apart", "300"}, {"H-0001", "--span", "9..3"}}) {
    std::vector<std::string> arguments{"compression", "--library", library};
    arguments.insert(arguments.end(), wrong.begin(), wrong.end());
    const ProgramRun run = runProgram(arguments);
    CHECK(run.status == 1);
    CHECK(isOneSentence(run.err));
  }
}

TEST_CASE("show and feet: thresholds and hands can be set; what is wrong gets one sentence") {
  TempFolder folder;
  fill(folder);
  const std::string library = folder.path().string();
  const auto verdictWith = [&](const std::vector<std::string>& more) {
    std::vector<std::string> arguments{"show", "H-0001", "--library", library, "--rotation", "0"};
    arguments.insert(arguments.end(), more.begin(), more.end());
    return runProgram(arguments);
  };
  CHECK_FALSE(contains(verdictWith({"--threshold", "too_grabbable=0.95"}).out, "Too grabbable: "));
  CHECK(contains(verdictWith({"--hand", "women:5"}).out, "women, percentile 5"));
  for (const auto& wrong : std::vector<std::vector<std::string>>{{"--threshold", "nonsense=1"},
                                                                 {"--threshold", "jug_fraction=x"},
                                                                 {"--hand", "giants"},
                                                                 {"--hand", "men:120"},
                                                                 {"--wall-angle", "75"}}) {
    CAPTURE(wrong[1]);
    const ProgramRun run = verdictWith(wrong);
    CHECK(run.status == 1);
    CHECK(run.out.empty());
    CHECK(isOneSentence(run.err));
  }
}
