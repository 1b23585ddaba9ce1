// SPDX-License-Identifier: Apache-2.0
#include "catalog/ask.h"
#include "catalog/query_text.h"
#include "tests/reliability/fuzz/filled_message.h"
#include "tests/reliability/fuzz/target.h"

using namespace holdshelf;

namespace {

void take(const std::string& bytes) {
  const Query query = queryOf(bytes);
  (void)queryText(query);
}

std::vector<std::string> seeds() {
  return {"red edge 14..20 mm deep, incut over 5, bin A3",
          "crimp at 20 degrees wall, on the shelf",
          "grip force over 0.4 at 30 deg",
          "pinch 40..60 mm wide, like H-0001, protrusion 30 mm or less",
          "foot at 15 deg, set Harbour, fingers 2..",
          "{\"colours\": [\"red\"], \"foot\": true}",
          "{\"lip\": {\"pointsMm\": [{\"x\": 0, \"y\": 0}, {\"x\": 20, \"y\": 3}]}}"};
}

std::vector<std::string> roughSeeds() {
  return {test::filledJson(*Query::descriptor()),
          "vivid red or dark grey jugs, in the wash, needs a look, retired",
          "not too grabbable, slab of 8, undercling, sorted by falling edge depth, show 20",
          "lip shaped radius 3 incut 5 depth 20, within 4 mm",
          "like the lip of H-0001 at its rotation 30, turned 330 to 30 deg",
          "patch #be0032, named \"a b\", side pull, 15 ± 2 mm deep, deepest first",
          "in a crate, pulled 45, edge depth from 10 to 20, radius at least 3 mm, lowest first",
          "at 20 mm deep, grips with at most 0.5 of a jug, 30 deg past vertical, foot-only"};
}

const test::FuzzTarget target("question", take, seeds, roughSeeds);

}  // namespace
