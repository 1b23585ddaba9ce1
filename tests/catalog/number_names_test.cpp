// SPDX-License-Identifier: Apache-2.0
#include "catalog/number_names.h"

#include <doctest/doctest.h>

#include "catalog/hold_numbers.h"

using namespace holdshelf;

TEST_CASE("number names: every number by its label and its flag") {
  for (const NumberKind& kind : numberKinds())
    for (const std::string name : {kind.label, kind.flag}) {
      CAPTURE(name);
      LineWords words(name);
      CHECK(numberNameFollows(words));
      CHECK(words.at() == 0);
      CHECK(takeNumberName(words).value_or("none") == kind.flag);
      CHECK(words.atEnd());
    }
}

TEST_CASE("number names: what people say after a value, the longest phrase first") {
  LineWords words("sticking out deep lip lip radius of");
  for (const char* flag : {"protrusion", "edge-depth", "lip-radius", "lip-radius"})
    CHECK(takeNumberName(words).value_or("none") == flag);
  CHECK_FALSE(numberNameFollows(words));
  CHECK_FALSE(takeNumberName(words));
  CHECK(words.lower() == "of");
  for (const NumberName& name : numberNames()) CHECK(numberKind(name.flag) != nullptr);
}
