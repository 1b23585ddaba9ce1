// SPDX-License-Identifier: Apache-2.0
#include "mesh/searched_mesh.h"

#include <doctest/doctest.h>

#include "tests/mesh/prepared_hold.h"

using namespace holdshelf;

TEST_CASE("SearchedMesh: a bolt's head fills its disc, not the rim of it") {
  const test::Prepared hold(test::incutEdge());
  SearchedMesh source = hold.source();
  CHECK_FALSE(source.isFilled({0, 0}));
  source.filled = {{{10, 0}, 5}, {{-30, 4}, 2}};
  CHECK(source.isFilled({14.9, 0}));
  CHECK_FALSE(source.isFilled({15, 0}));
  CHECK(source.isFilled({-30, 5.9}));
}
