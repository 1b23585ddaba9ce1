// SPDX-License-Identifier: Apache-2.0
#include "mesh/edge_run.h"

#include <doctest/doctest.h>

#include <cmath>

using namespace holdshelf;

namespace {

/// An edge whose lip stands at u, of a depth, square to the wall.
EdgeAt edgeAt(int slice, double u, double depth, double incut = 0) {
  EdgeAt e;
  e.slice = slice;
  e.edge.lip_at_mm = {u, 30};
  e.edge.root_at_mm = {u, 30 - depth};
  e.edge.depth_mm = depth;
  e.edge.incut_deg = incut;
  return e;
}

}  // namespace

TEST_CASE("Two edges above one another stay two runs, also where they drift and where one pauses") {
  std::vector<std::vector<EdgeAt>> slices(20);
  for (int i = 0; i < 20; ++i) {
    if (i != 9) slices[i].push_back(edgeAt(i, 20 + 0.8 * i, 14));  // Noise hides one.
    if (i >= 5) slices[i].push_back(edgeAt(i, -10, 9));
  }
  const auto runs = joinSideways(slices, 1);
  REQUIRE(runs.size() == 2);
  CHECK(runs[0].size() == 19);
  CHECK(runs[1].size() == 15);
  for (const EdgeRun& run : runs)
    for (std::size_t i = 1; i < run.size(); ++i) CHECK(run[i].slice > run[i - 1].slice);
}

TEST_CASE("Two slices without the edge end a run; a jump begins another") {
  std::vector<std::vector<EdgeAt>> slices(12);
  for (int i = 0; i < 12; ++i)
    if (i != 4 && i != 5) slices[i].push_back(edgeAt(i, i < 9 ? 0 : 15, 10));
  const auto runs = joinSideways(slices, 1);
  REQUIRE(runs.size() == 3);
  CHECK(runs[0].size() == 4);
  CHECK(runs[1].size() == 3);
  CHECK(runs[2].size() == 3);
}

TEST_CASE("The best place is the middle of the best stretch, not a lucky narrow one") {
  EdgeRun run;
  for (int i = 0; i < 80; ++i) run.push_back(edgeAt(i, 0, i >= 20 && i <= 60 ? 20 : 12));
  run[5].edge.depth_mm = 30;  // One section alone: texture.
  EdgeRun corner;
  for (int i = 0; i < 3; ++i) corner.push_back(edgeAt(i, 40, 35));
  const std::vector<EdgeRun> runs = {corner, run};
  const auto place = bestPlace(runs, 1, 16, 5);
  REQUIRE(place);
  CHECK(place->run == &runs[1]);
  CHECK(std::abs(place->edge().slice - 40) <= 1);
  const auto in = bestPlaceIn(runs, 2);
  REQUIRE(in);
  CHECK(in->run == &runs[0]);
  CHECK_FALSE(bestPlaceIn(runs, 200));
  CHECK_FALSE(bestPlace({}, 1, 16, 5));
}

TEST_CASE("Merit: depth to 40 mm, less what slopes, a little more for what falls in") {
  CHECK(edgeMerit(20, 0) == doctest::Approx(20));
  CHECK(edgeMerit(60, 0) == doctest::Approx(40));
  CHECK(edgeMerit(20, -32.5) == doctest::Approx(10));
  CHECK(edgeMerit(20, 20) == doctest::Approx(23));
  CHECK(edgeMerit(20, -70) == doctest::Approx(1));
}
