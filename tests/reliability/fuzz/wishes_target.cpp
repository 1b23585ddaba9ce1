// SPDX-License-Identifier: Apache-2.0
#include "catalog/wish_list.h"
#include "tests/reliability/fuzz/target.h"

using namespace holdshelf;

namespace {

std::vector<std::string> seeds() {
  return {"four incut crimps, one big-radius jug to finish, a spread of sizes",
          "two slopers without a positive lip for compression, three feet",
          "one jug to start, six two-finger pockets 12-18 mm deep, a pair of thin pinches",
          "some small low-profile footholds, ten large small-radius edges, eight feet"};
}

const test::FuzzTarget target(
    "wishes", [](const std::string& bytes) { (void)parseWishes(bytes); }, seeds);

}  // namespace
