// SPDX-License-Identifier: Apache-2.0
#include "catalog/grip_thresholds.h"

#include <doctest/doctest.h>

#include <cmath>
#include <fstream>
#include <set>
#include <sstream>

#include "mesh/bad_input.h"

using namespace holdshelf;

TEST_CASE("thresholdTable: every threshold once, each with a source or marked as judgement") {
  std::set<std::string_view> names;
  std::set<const double*> members;
  const GripThresholds t;
  for (const ThresholdRow& row : thresholdTable()) {
    CAPTURE(row.name);
    CHECK(names.insert(row.name).second);
    CHECK(members.insert(&(t.*row.value)).second);
    CHECK_FALSE(row.meaning.empty());
    CHECK(row.source.size() >= 8);
    CHECK(std::isfinite(t.*row.value));
  }
  CHECK(members.size() * sizeof(double) == sizeof(GripThresholds));
}

TEST_CASE("printThresholds: the documentation quotes the table as it is") {
  std::ifstream file(std::string(HOLDSHELF_SOURCE_DIR) + "/catalog/grips.md");
  REQUIRE(file);
  std::stringstream text;
  text << file.rdbuf();
  CHECK(text.str().find(printThresholds({})) != std::string::npos);
}

TEST_CASE("setThreshold: by name, with one clear sentence for what is wrong") {
  GripThresholds t;
  setThreshold(t, "skin_friction=0.65");
  CHECK(t.skin_friction == 0.65);
  CHECK_THROWS_AS(setThreshold(t, "no_such=1"), BadInput);
  CHECK_THROWS_AS(setThreshold(t, "skin_friction"), BadInput);
  CHECK_THROWS_AS(setThreshold(t, "skin_friction=much"), BadInput);
  CHECK_THROWS_AS(setThreshold(t, "skin_friction=nan"), BadInput);
  CHECK(t.skin_friction == 0.65);
}
