// SPDX-License-Identifier: Apache-2.0
#include "catalog/lost_file.h"

#include <doctest/doctest.h>

using namespace holdshelf;

namespace {

template <class Failure>
[[noreturn]] int failing() {
  throw Failure("The file ...");
}

}  // namespace

TEST_CASE("lost file: what is lost or damaged is left out; what cannot be told now is not") {
  CHECK(unlessLost([] { return 7; }) == 7);
  CHECK(unlessLost(failing<BadInput>) == std::nullopt);
  CHECK(unlessLost(failing<StoreDamaged>) == std::nullopt);
  CHECK_THROWS_AS((void)unlessLost(failing<UnreadableFile>), UnreadableFile);
  CHECK_THROWS_AS((void)unlessLost(failing<StoreUnavailable>), StoreUnavailable);
  CHECK_THROWS_AS((void)unlessLost([]() -> int { throw Interrupted(); }), Interrupted);
}

TEST_CASE("lost file: holds that were left out are named, of many the first") {
  google::protobuf::RepeatedPtrField<std::string> holds;
  CHECK(notComparedText(holds).empty());
  *holds.Add() = "H-0001";
  CHECK(notComparedText(holds).find(": H-0001 (holdshelf check") != std::string::npos);
  CHECK(lipsLeftOutText({}).empty());
  CHECK(lipsLeftOutText(holds).find("damaged: H-0001 (holdshelf check --repair") !=
        std::string::npos);
  for (int i = 2; i < 15; ++i) *holds.Add() = "H-" + std::to_string(i);
  CHECK(notComparedText(holds).find(", H-10 and 4 more (") != std::string::npos);
}
