// SPDX-License-Identifier: Apache-2.0
#include "tests/reliability/durability/linear_history.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <numeric>
#include <random>

using namespace holdshelf::test;
using Kind = Operation::Kind;

namespace {

Operation op(Kind kind, const char* value, int from, int to, bool refused = false) {
  Operation o{kind, value};
  o.began_ns = from;
  o.ended_ns = to;
  o.refused = refused;
  return o;
}

bool linear(const std::vector<Operation>& operations) {
  return whyNotLinearizable(operations, "").empty();
}

/// Every order of the operations, tried one by one: the definition itself.
bool linearByDefinition(const std::vector<Operation>& operations) {
  std::vector<std::size_t> order(operations.size());
  std::iota(order.begin(), order.end(), 0);
  do {
    bool right = true;
    std::string value;
    for (std::size_t i = 0; i < order.size() && right; ++i) {
      const Operation& o = operations[order[i]];
      for (std::size_t k = i + 1; k < order.size(); ++k)
        right = right && operations[order[k]].ended_ns >= o.began_ns;
      if (o.kind == Kind::Read) right = right && value == o.value;
      if (o.kind == Kind::Write) value = o.value;
      if (o.kind == Kind::Take) {
        right = right && value.empty() != o.refused;
        if (!o.refused) value = o.value;
      }
      if (o.kind == Kind::Drop) {
        right = right && (value == o.value) != o.refused;
        if (!o.refused) value.clear();
      }
    }
    if (right) return true;
  } while (std::next_permutation(order.begin(), order.end()));
  return false;
}

}  // namespace

// Herlihy and Wing 1990, section 1 and figure 1, the same shapes with a register's values.
TEST_CASE("linear history: reads between overlapping writes") {
  CHECK(linear({op(Kind::Write, "x", 0, 10), op(Kind::Write, "y", 5, 20),
                op(Kind::Read, "x", 12, 14), op(Kind::Read, "y", 30, 31)}));
  // The second write was seen to come last.
  CHECK_FALSE(linear({op(Kind::Write, "x", 0, 10), op(Kind::Write, "y", 5, 20),
                      op(Kind::Read, "y", 12, 14), op(Kind::Read, "x", 30, 31)}));
  // Written and answered, and then not there.
  CHECK_FALSE(linear({op(Kind::Write, "x", 0, 10), op(Kind::Read, "", 11, 12)}));
  // Seen new, then old again.
  CHECK_FALSE(linear({op(Kind::Write, "x", 0, 10), op(Kind::Write, "y", 11, 30),
                      op(Kind::Read, "y", 12, 13), op(Kind::Read, "x", 14, 15)}));
}

TEST_CASE("linear history: of two who take one thing exactly one may get it") {
  CHECK(linear({op(Kind::Take, "a", 0, 10), op(Kind::Take, "b", 5, 20, true)}));
  CHECK_FALSE(linear({op(Kind::Take, "a", 0, 10), op(Kind::Take, "b", 5, 20)}));
  CHECK_FALSE(linear({op(Kind::Take, "a", 0, 10, true), op(Kind::Take, "b", 5, 20, true)}));
  CHECK(
      linear({op(Kind::Take, "a", 0, 10), op(Kind::Drop, "a", 8, 20), op(Kind::Take, "b", 9, 20)}));
}

TEST_CASE("linear history: what was never answered may have happened late or not at all") {
  Operation lost = op(Kind::Write, "x", 0, 0);
  lost.unknown = true;
  CHECK(linear({lost, op(Kind::Read, "", 10, 11), op(Kind::Read, "x", 20, 21)}));
  CHECK(linear({lost, op(Kind::Read, "", 10, 11)}));
  CHECK_FALSE(linear({lost, op(Kind::Read, "x", 10, 11), op(Kind::Read, "", 20, 21)}));
}

TEST_CASE("linear history: random small histories, as trying every order judges them") {
  std::mt19937 random(20261126);
  int good = 0, bad = 0;
  for (int n = 0; n < 3000; ++n) {
    std::vector<Operation> operations;
    for (int i = 0; i < 5; ++i) {
      const int from = static_cast<int>(random() % 20);
      operations.push_back(op(static_cast<Kind>(random() % 4), random() % 2 == 0 ? "a" : "b", from,
                              from + 1 + static_cast<int>(random() % 12)));
      Operation& o = operations.back();
      if (o.kind == Kind::Read && random() % 3 == 0) o.value.clear();
      if (o.kind == Kind::Take || o.kind == Kind::Drop) o.refused = random() % 2 == 0;
    }
    CAPTURE(n);
    const bool expected = linearByDefinition(operations);
    CHECK(linear(operations) == expected);
    ++(expected ? good : bad);
  }
  CHECK(good > 300);
  CHECK(bad > 300);
}
