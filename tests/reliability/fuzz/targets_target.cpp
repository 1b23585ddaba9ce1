// SPDX-License-Identifier: Apache-2.0
#include "tests/reliability/fuzz/target.h"

#include "catalog/gaps.h"

using namespace holdshelf;

namespace {

const test::FuzzTarget target(
    "targets", [](const std::string& bytes) { (void)parseTargets(bytes, "targets.csv"); },
    [] {
      return std::vector<std::string>{
          "colour,grip,size,profile,want,most\nred,crimp,*,low,12,30\n*,jug,large,high,4,\n",
          "want;profile;grip\r\n3;middle;\"foot-only\"\r\n\r\n0;*;none\r\n"};
    });

}  // namespace
