// SPDX-License-Identifier: Apache-2.0
#include "catalog/wish_list.h"

#include <doctest/doctest.h>

#include "mesh/bad_input.h"

using namespace holdshelf;

TEST_CASE("wish list: as a setter writes it") {
  const WishList list = parseWishes(
      "Four incut crimps, two slopers without a positive lip for compression, one big-radius jug "
      "to finish, a spread of sizes");
  REQUIRE(list.wishes_size() == 3);
  CHECK(list.spread());
  CHECK(list.wishes(0).count() == 4);
  CHECK(list.wishes(0).grip() == "crimp");
  CHECK(list.wishes(0).incut());
  CHECK(list.wishes(1).count() == 2);
  CHECK(list.wishes(1).grip() == "sloper");
  CHECK(list.wishes(1).no_positive_lip());
  CHECK(list.wishes(1).compression());
  CHECK(list.wishes(2).count() == 1);
  CHECK(list.wishes(2).grip() == "jug");
  CHECK(list.wishes(2).role() == "finish");
  CHECK(list.wishes(2).least_lip_radius_mm() > 0);
  CHECK_FALSE(list.wishes(2).incut());
}

TEST_CASE("wish list: other ways to say it") {
  const WishList list =
      parseWishes("3 edges 12-18 mm deep; a pair of small pinches\nsix feet, two-finger pockets");
  REQUIRE(list.wishes_size() == 4);
  CHECK(list.wishes(0).least_depth_mm() == 12);
  CHECK(list.wishes(0).most_depth_mm() == 18);
  CHECK(list.wishes(0).count() == 3);
  CHECK(list.wishes(1).grip() == "pinch");
  CHECK(list.wishes(1).count() == 2);
  CHECK(list.wishes(1).most_extent_mm() > 0);
  CHECK(list.wishes(2).grip() == "foot-only");
  CHECK(list.wishes(2).count() == 6);
  CHECK(list.wishes(3).grip() == "pocket");
  CHECK(list.wishes(3).fingers() == 2);
}

TEST_CASE("wish list: what is not understood is named") {
  CHECK_THROWS_AS((void)parseWishes(""), BadInput);
  CHECK_THROWS_AS((void)parseWishes(" , "), BadInput);
  CHECK_THROWS_AS((void)parseWishes("900 jugs"), BadInput);
  try {
    (void)parseWishes("two crimps, one flurble jug");
    CHECK(false);
  } catch (const BadInput& refused) {
    CHECK(std::string(refused.what()).find("flurble") != std::string::npos);
  }
}
