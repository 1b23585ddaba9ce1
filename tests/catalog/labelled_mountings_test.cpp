// SPDX-License-Identifier: Apache-2.0
// Words against labels that were argued from published facts and common practice, on exactly known
// holds that were meshed and measured. tests/bench/grips_bench prints the confusion tables.
#include "tests/shapes/labelled_mountings.h"

#include <doctest/doctest.h>

#include <map>
#include <set>
#include <string>
#include <vector>

#include "catalog/foot_steps.h"
#include "mesh/measure_shape.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;

static const Shape& shapeOf(const std::string& key) {
  static std::map<std::string, Shape> shapes;
  const auto [at, fresh] = shapes.try_emplace(key);
  if (fresh) {
    const ExactHold hold = labelledHold(key);
    at->second = measureShape(meshSdf(hold.solid, hold.box_mm, 1.0));
  }
  return at->second;
}

TEST_CASE("labelled mountings: each argued, both halves with every word, no hold in both") {
  std::set<std::string> tuned_words, judged_words, tuned_holds;
  for (const LabelledMounting& m : tunedMountings()) {
    CHECK(m.argument.size() > 20);
    tuned_words.insert(m.label);
    tuned_holds.insert(m.hold);
  }
  for (const LabelledMounting& m : judgedMountings()) {
    CAPTURE(m.hold);
    CHECK(m.argument.size() > 20);
    judged_words.insert(m.label);
    CHECK(tuned_holds.count(m.hold) == 0);
  }
  CHECK(tuned_words == judged_words);
  CHECK(judged_words.size() == 8);
  CHECK(judgedMountings().size() >= 30);
  CHECK(tunedMountings().size() + judgedMountings().size() >= 60);
}

TEST_CASE("agrees: the label among the words, the first of them the label or one beside it") {
  const LabelledMounting pocket{"x", 0, 0, 0, "pocket", "", {"sloper"}};
  CHECK(agrees(pocket, {"pocket"}));
  CHECK(agrees(pocket, {"sloper", "pocket"}));
  CHECK_FALSE(agrees(pocket, {"sloper"}));
  CHECK_FALSE(agrees(pocket, {"edge", "pocket"}));
  CHECK_FALSE(agrees(pocket, {}));
  const LabelledMounting nothing{"x", 0, 0, 0, "nothing", "", {}};
  CHECK(agrees(nothing, {}));
  CHECK_FALSE(agrees(nothing, {"pinch"}));
}

TEST_CASE("labelled mountings: the judged half agrees with its labels to 95 %") {
  int right = 0;
  for (const LabelledMounting& m : judgedMountings()) {
    std::vector<std::string> words;
    for (GripKind kind :
         wordsAt(GripModel(shapeOf(m.hold)), {m.rotation_deg, m.wall_angle_deg, m.pull_deg}))
      words.emplace_back(wordOf(kind));
    const bool agreed = agrees(m, words);
    right += agreed;
    if (!agreed)
      MESSAGE(m.hold << " at " << m.rotation_deg << ", wall " << m.wall_angle_deg << ": labelled "
                     << m.label << ", answered " << (words.empty() ? "nothing" : words.front()));
  }
  CHECK(right >= 0.95 * static_cast<double>(judgedMountings().size()));
}
