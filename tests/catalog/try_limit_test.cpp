// SPDX-License-Identifier: Apache-2.0
#include "catalog/try_limit.h"

#include <doctest/doctest.h>

using namespace holdshelf;

TEST_CASE("try limit: so many each, so many in all, and free again when the window has passed") {
  TryLimit limit(2, 3, 600);
  CHECK(limit.begin("a", 0));
  CHECK(limit.begin("a", 10));
  CHECK_FALSE(limit.begin("a", 20));
  CHECK(limit.begin("b", 30));
  CHECK_FALSE(limit.begin("c", 40));  // Three in all.
  CHECK_FALSE(limit.begin("a", 599));
  CHECK(limit.begin("a", 600));  // The first is past.
  CHECK_FALSE(limit.begin("a", 601));
}

TEST_CASE("try limit: a try that was right is no wrong one") {
  TryLimit limit(1, 10, 600);
  for (int i = 0; i < 5; ++i) {
    CHECK(limit.begin("a", i));
    limit.forgive("a");
  }
  CHECK(limit.begin("a", 6));
  CHECK_FALSE(limit.begin("a", 7));
}
