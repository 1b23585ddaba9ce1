// SPDX-License-Identifier: Apache-2.0
#include "catalog/edit_distance.h"

#include <doctest/doctest.h>

using namespace holdshelf;

TEST_CASE("editDistance: the textbook pairs") {
  // Value from memory: kitten to sitting is the usual worked example, by three changes.
  CHECK(editDistance("kitten", "sitting") == 3);
  CHECK(editDistance("sitting", "kitten") == 3);
  CHECK(editDistance("saturday", "sunday") == 3);
  CHECK(editDistance("", "edge") == 4);
  CHECK(editDistance("edge", "edge") == 0);
}
