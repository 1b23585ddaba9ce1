// SPDX-License-Identifier: Apache-2.0
#include "catalog/recent_values.h"

#include <doctest/doctest.h>

#include <map>
#include <stdexcept>

using namespace holdshelf;

namespace {

/// Asks for values that are so many letters long, and counts how often each is made.
struct Asked {
  RecentValues<std::string> values;
  std::map<std::string, int> made;

  std::size_t get(const std::string& key, std::size_t letters) {
    return values
        .get(key,
             [&] {
               ++made[key];
               return std::make_shared<const std::string>(letters, 'x');
             })
        ->size();
  }
};

}  // namespace

TEST_CASE("recent values: made once, the one used longest ago goes first") {
  Asked asked{RecentValues<std::string>(2), {}};
  CHECK(asked.get("a", 1) == 1);
  CHECK(asked.get("b", 2) == 2);
  CHECK(asked.get("a", 9) == 1);
  asked.get("c", 1);
  asked.get("a", 1);
  asked.get("b", 1);
  CHECK(asked.made == std::map<std::string, int>{{"a", 1}, {"b", 2}, {"c", 1}});
}

TEST_CASE("recent values: no more bytes than they may have together") {
  Asked asked{RecentValues<std::string>(100, 10), {}};
  asked.get("a", 4);
  asked.get("b", 4);
  asked.get("a", 4);
  asked.get("c", 4);  // With it there are 12: b was used longest ago.
  asked.get("a", 4);
  asked.get("c", 4);
  CHECK(asked.made == std::map<std::string, int>{{"a", 1}, {"b", 1}, {"c", 1}});
  asked.get("b", 4);
  CHECK(asked.made["b"] == 2);
  asked.get("whole", 50);  // Alone too large: it stays until another one is made.
  asked.get("whole", 50);
  CHECK(asked.made["whole"] == 1);
  asked.get("c", 4);
  CHECK(asked.made["c"] == 2);
  asked.get("whole", 50);
  CHECK(asked.made["whole"] == 2);
}

TEST_CASE("recent values: what could not be made is made when it is asked for again") {
  RecentValues<std::string> values(2, 10);
  CHECK_THROWS(values.get(
      "a", []() -> std::shared_ptr<const std::string> { throw std::runtime_error("not now"); }));
  CHECK(*values.get("a", [] { return std::make_shared<const std::string>("x"); }) == "x");
}

TEST_CASE("recent values: asking what is there makes nothing, and drops nothing") {
  Asked asked{RecentValues<std::string>(2), {}};
  asked.get("a", 1);
  asked.get("b", 1);
  CHECK(asked.values.made("a") != nullptr);
  for (const char* other : {"c", "d"}) CHECK(asked.values.made(other) == nullptr);
  asked.get("c", 1);  // Now b was used longest ago.
  asked.get("a", 1);
  CHECK(asked.made == std::map<std::string, int>{{"a", 1}, {"b", 1}, {"c", 1}});
}

TEST_CASE("recent values: what was forgotten is made anew") {
  Asked asked{RecentValues<std::string>(2), {}};
  asked.get("a", 1);
  asked.values.forget("a");
  asked.values.forget("b");
  asked.get("a", 1);
  CHECK(asked.made == std::map<std::string, int>{{"a", 2}});
}
