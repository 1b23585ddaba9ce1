// SPDX-License-Identifier: Apache-2.0
#include "catalog/percent_encoding.h"

#include <doctest/doctest.h>

using namespace holdshelf;

// RFC 3986, 2.1 and 2.4.
TEST_CASE("percentDecoded: bytes by their hex digits, once") {
  CHECK(percentDecoded("A1%2F3") == "A1/3");
  CHECK(percentDecoded("gr%C3%BCn%20%7e") == "gr\xC3\xBCn ~");
  CHECK(percentDecoded("%2525") == "%25");
  CHECK(percentDecoded("a+b") == "a+b");
  CHECK(percentDecoded("%00") == std::string(1, '\0'));
}

TEST_CASE("percentDecoded: what is no such thing stays") {
  for (const char* text : {"", "%", "%4", "%zz", "%4z", "% 1", "%-1", "%+1", "a%"})
    CHECK(percentDecoded(text) == text);
}
