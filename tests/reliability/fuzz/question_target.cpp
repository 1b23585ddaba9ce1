// SPDX-License-Identifier: Apache-2.0
#include "catalog/ask.h"
#include "catalog/query_text.h"
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

const test::FuzzTarget target("question", take, seeds);

}  // namespace
