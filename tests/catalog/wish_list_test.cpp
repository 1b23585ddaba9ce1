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

TEST_CASE("wish list: a wish and a list have an end, and numbers are such as holds have") {
  std::string jugs = "jug";
  while (jugs.size() < 201) jugs += " jug";
  // Were it read at all, the next would take long.
  REQUIRE_THROWS_WITH_AS((void)parseWishes("a crimp, " + jugs), doctest::Contains("200 letters"),
                         BadInput);
  CHECK_THROWS_AS((void)parseWishes(std::string(8000, '1')), BadInput);
  CHECK_THROWS_AS((void)parseWishes("edges " + std::string(310, '9') + "-20 mm"), BadInput);
  CHECK_THROWS_AS((void)parseWishes("edges 12-" + std::string(150, '9') + " mm"), BadInput);
  CHECK_THROWS_AS((void)parseWishes("edges 12-1001 mm"), BadInput);
  CHECK(parseWishes("edges 12-1000 mm").wishes(0).most_depth_mm() == 1000);
  std::string many;
  for (int i = 0; i < 100; ++i) many += "a jug,";
  CHECK(parseWishes(many).wishes_size() == 100);
  CHECK_THROWS_AS((void)parseWishes(many + "a jug"), BadInput);
}
