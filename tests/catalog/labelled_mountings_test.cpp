// SPDX-License-Identifier: Apache-2.0
// Words against labels that were argued from published facts and common practice, on exactly known
// holds that were meshed and measured. tests/bench/grips_bench prints the confusion tables.
#include "tests/shapes/labelled_mountings.h"

#include <doctest/doctest.h>

#include <map>
#include <set>

#include "catalog/foot_steps.h"
#include "mesh/measure_shape.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;

static std::string wordAt(const Shape& shape, const LabelledMounting& m) {
  const GripModel model(shape);
  const auto steps = footSteps(model, m.wall_angle_deg);
  if (m.pull_deg == 0 && steps[stepIndex(static_cast<int>(m.rotation_deg / 5 + 0.5))].serves)
    return "foot-only";
  return std::string(wordOf(model.hand({m.rotation_deg, m.wall_angle_deg, m.pull_deg}).kind));
}

TEST_CASE("labelledMountings: at least 60, each argued, both halves with every word") {
  const auto& all = labelledMountings();
  CHECK(all.size() >= 60);
  std::set<std::string> tune, judge;
  for (std::size_t i = 0; i < all.size(); ++i) {
    CHECK(all[i].argument.size() > 20);
    (i % 2 == 0 ? tune : judge).insert(all[i].label);
  }
  CHECK(tune == judge);
  CHECK(tune.size() == 8);
}

TEST_CASE("labelledMountings: the judging half agrees with its labels to 95 %") {
  std::map<std::string, Shape> shapes;
  const auto& all = labelledMountings();
  int right = 0, asked = 0;
  for (std::size_t i = 1; i < all.size(); i += 2) {
    const LabelledMounting& m = all[i];
    const auto [at, fresh] = shapes.try_emplace(m.hold);
    if (fresh) {
      const ExactHold hold = labelledHold(m.hold);
      at->second = measureShape(meshSdf(hold.solid, hold.box_mm, 1.0));
    }
    const std::string word = wordAt(at->second, m);
    ++asked;
    right += word == m.label;
    if (word != m.label)
      MESSAGE(m.hold << " at " << m.rotation_deg << ", wall " << m.wall_angle_deg << ": labelled "
                     << m.label << ", answered " << word);
  }
  CHECK(right >= 0.95 * asked);
}
