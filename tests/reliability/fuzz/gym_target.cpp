// SPDX-License-Identifier: Apache-2.0
#include "catalog/console.h"
#include "catalog/gym.h"
#include "tests/reliability/fuzz/filled_message.h"
#include "tests/reliability/fuzz/target.h"

using namespace holdshelf;

namespace {

void take(const std::string& bytes) {
  Gym gym;
  fromJson(bytes, "The gym", gym);
  validateGym(gym);
}

const test::FuzzTarget target(
    "gym", take, [] { return std::vector<std::string>{test::testdataFile("demo/gym.json")}; },
    [] { return std::vector<std::string>{test::filledJson(*Gym::descriptor())}; });

}  // namespace
