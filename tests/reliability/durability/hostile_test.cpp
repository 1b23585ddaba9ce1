// SPDX-License-Identifier: Apache-2.0
// Bytes from outside, mutated: every parser gives a result or one sentence, whatever comes in. The
// mutations are drawn from named seeds; a failure says which, and the input is then kept below.
#include <doctest/doctest.h>

#include <functional>
#include <random>
#include <string>
#include <vector>

#include "capture/cameras_file.h"
#include "capture/mat_file.h"
#include "catalog/ask.h"
#include "catalog/bolt_series.h"
#include "catalog/console.h"
#include "catalog/csv.h"
#include "catalog/gaps.h"
#include "catalog/gym.h"
#include "catalog/lip_curve.h"
#include "catalog/query_line.h"
#include "catalog/search_row.h"
#include "catalog/wish_list.h"
#include "mesh/bad_input.h"
#include "mesh/mesh_io.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;

namespace {

struct Target {
  const char* name;
  std::function<void(const std::string&)> parse;
  std::vector<std::string> seeds;  ///< Valid inputs.
};

/// Words that parsers trip over.
constexpr const char* kNasty[] = {
    "-1",       "nan",      "inf",      "1e999", "4294967295", "99999999999999999999",
    "\xff\xfe", "{{{{{{{{", "[[[[[[[[", "\"",    "\n\n",       "../../..",
    "%s%n",     "-0"};

std::string mutated(std::string text, const std::string& other, std::mt19937& random) {
  const auto below = [&](std::size_t n) { return n == 0 ? 0 : random() % n; };
  for (std::size_t rounds = 1 + below(4); rounds > 0; --rounds) {
    const std::size_t at = below(text.size() + 1),
                      size = below(std::min<std::size_t>(64, text.size()));
    switch (below(8)) {
      case 0:
        if (!text.empty()) text[below(text.size())] ^= static_cast<char>(1 << below(8));
        break;
      case 1:
        text.resize(at);  // Cut off.
        break;
      case 2:
        text.erase(std::min(at, text.size()), size);
        break;
      case 3:
        text.insert(at, text.substr(below(text.size() + 1), size));
        break;
      case 4:
        text.insert(at, kNasty[below(std::size(kNasty))]);
        break;
      case 5:  // A count or length that lies.
        for (std::size_t i = at; i < std::min(at + 4, text.size()); ++i)
          text[i] = static_cast<char>(below(2) == 0 ? 0xff : random());
        break;
      case 6:
        text = text.substr(0, at) + other.substr(std::min(at, other.size()));
        break;
      default:
        for (std::size_t i = at; i < text.size(); ++i)
          if (text[i] >= '0' && text[i] <= '9') {
            text.insert(i, std::string(1 + below(30), '9'));
            break;
          }
    }
  }
  return text;
}

std::vector<Target> targets() {
  const ExactHold solid = domeHold(30, 20);
  const TriangleMesh mesh = meshSdf(solid.solid, solid.box_mm, 12);
  const std::string ply = plyBytes(mesh), stl = stlBytes(mesh), glb = glbBytes(mesh);
  const std::string text_ply =
      "ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\nproperty float "
      "z\nelement face 1\nproperty list uchar int vertex_indices\nend_header\n0 0 0\n1 0 0\n0 1 "
      "0\n3 0 1 2\n";
  const std::string obj = "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1/1/1 2//2 3\n";
  const std::string text_stl =
      "solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 "
      "0\nendloop\nendfacet\nendsolid a\n";
  const std::string folder = HOLDSHELF_SOURCE_DIR "/testdata/demo/";
  Hold hold;
  hold.add_scans()->mutable_shape()->mutable_protrusion_mm()->set_value(30);
  hold.mutable_scans(0)->mutable_shape()->add_grips()->mutable_edge_depth_mm()->set_value(12);
  const std::string row = packSearchRow(hold);
  const LipRun run;
  const std::string lips = packLips(std::vector<LipRun>{run, run});
  const auto gymText = [](const std::string& text) {
    Gym gym;
    fromJson(text, "The gym", gym);
    validateGym(gym);
  };
  return {
      {"mesh", [](const std::string& b) { (void)parseMesh(b, "x.ply"); }, {ply, text_ply, glb}},
      {"mesh, by name", [](const std::string& b) { (void)parseMesh(b, "x.stl"); }, {stl, text_stl}},
      {"obj", [](const std::string& b) { (void)parseMesh(b, "x.obj"); }, {obj}},
      {"mat",
       [](const std::string& b) { (void)parseMat(b, "mat.json"); },
       {readFile(folder + "ledge/mat.json")}},
      {"cameras",
       [](const std::string& b) { (void)parseCameras(b, "cameras", 1); },
       {"1\na.jpg 900 0 320 0 900 240 0 0 1 1 0 0 0 1 0 0 0 1 10 20 300\n"}},
      {"gym", gymText, {readFile(folder + "gym.json")}},
      {"question",
       [](const std::string& b) { (void)queryOf(b); },
       {"red edge 14..20 mm deep, incut over 5, bin A3", "{\"colours\": [\"red\"], \"foot\": true}",
        "crimp at 20 degrees wall"}},
      {"wishes",
       [](const std::string& b) { (void)parseWishes(b); },
       {"four incut crimps, two slopers without a positive lip for compression, one big-radius jug "
        "to finish, a spread of sizes"}},
      {"sheet",
       [](const std::string& b) { (void)parseCsv(b, "sheet.csv"); },
       {"id,name,bin\nH-0001,\"a, \"\"b\"\"\",A1\n", "id;name\nH-0001;x\n"}},
      {"targets",
       [](const std::string& b) { (void)parseTargets(b, "targets.csv"); },
       {"colour,grip,size,profile,want,most\nred,crimp,*,low,12,30\n*,jug,large,high,4,\n"}},
      {"search row", [](const std::string& b) { (void)unpackSearchRow(b); }, {row}},
      {"lips", [](const std::string& b) { (void)unpackLips(b); }, {lips}},
      {"bolt length",
       [](const std::string& b) { (void)boltLength_mm(INCH_3_8_16, b); },
       {"2 1/4", "2", "3/4"}},
      {"thread", [](const std::string& b) { (void)threadFromText(b); }, {"M10", "3/8-16"}}};
}

void mutateAll(int each) {
  int refused = 0, read = 0;
  for (const Target& target : targets()) {
    CAPTURE(std::string(target.name));
    for (const std::string& seed : target.seeds) CHECK_NOTHROW(target.parse(seed));
    const std::string name = target.name;
    std::seed_seq seed_of_name(name.begin(), name.end());
    std::mt19937 random(seed_of_name);
    for (int n = 0; n < each; ++n) {
      const std::string& seed = target.seeds[random() % target.seeds.size()];
      const std::string& other = target.seeds[random() % target.seeds.size()];
      const std::string input = mutated(seed, other, random);
      CAPTURE(n);
      try {
        target.parse(input);
        ++read;
      } catch (const BadInput& refusal) {
        ++refused;
        const std::string sentence = refusal.what();
        CHECK_FALSE(sentence.empty());
        CHECK(sentence.size() < 2000);
      } catch (const std::exception& failure) {
        FAIL_CHECK("not a sentence for people: " << failure.what()
                                                 << "; input: " << input.substr(0, 200));
      }
    }
  }
  CHECK(refused > each);
  CHECK(read > each);
}

}  // namespace

TEST_CASE("hostile input: mutated files, texts and rows are read or refused in a sentence") {
  mutateAll(1500);
}

TEST_CASE("hostile input: the same, long" * doctest::skip()) { mutateAll(100'000); }
