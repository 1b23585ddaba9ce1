// SPDX-License-Identifier: Apache-2.0
#include "tests/reliability/durability/linear_history.h"

#include <algorithm>
#include <optional>
#include <set>
#include <stdexcept>
#include <tuple>
#include <utility>

namespace holdshelf::test {
namespace {

using Kind = Operation::Kind;

/// The object's value after the operation; nullopt: its answer would be wrong now.
std::optional<std::string> after(const std::string& value, const Operation& o) {
  switch (o.kind) {
    case Kind::Write:
      return o.refused ? std::nullopt : std::optional(o.value);
    case Kind::Read:
      return o.unknown || value == o.value ? std::optional(value) : std::nullopt;
    case Kind::Take:
      if (value.empty() == o.refused) return std::nullopt;
      return o.refused ? value : o.value;
    case Kind::Drop:
      if ((value == o.value) == o.refused) return std::nullopt;
      return o.refused ? value : std::string();
  }
  return std::nullopt;
}

/// Beginning or end of an operation.
struct Moment {
  std::int64_t at_ns;
  bool ends;
  std::size_t operation;
};

std::vector<Moment> momentsOf(const std::vector<Operation>& operations) {
  std::vector<Moment> moments;
  for (std::size_t i = 0; i < operations.size(); ++i) {
    moments.push_back({operations[i].began_ns, false, i});
    if (!operations[i].unknown) moments.push_back({operations[i].ended_ns, true, i});
  }
  // At one and the same time beginnings come first: that allows more orders, never fewer.
  std::sort(moments.begin(), moments.end(), [](const Moment& a, const Moment& b) {
    return std::tie(a.at_ns, a.ends, a.operation) < std::tie(b.at_ns, b.ends, b.operation);
  });
  return moments;
}

/// Value, and by slot which of the open operations have taken effect.
using Configuration = std::pair<std::string, std::uint32_t>;

std::string described(const Operation& o) {
  const char* const verbs[] = {"write", "read", "take", "drop"};
  return "no order explains client " + std::to_string(o.client) + "'s " +
         verbs[static_cast<int>(o.kind)] + " of \"" + o.value + "\"" +
         (o.refused ? ", which was refused" : "") + ": " + o.said;
}

}  // namespace

std::string whyNotLinearizable(const std::vector<Operation>& operations,
                               const std::string& initial) {
  std::set<Configuration> reached = {{initial, 0}};
  std::vector<std::optional<std::size_t>> slots(30);
  for (const Moment& moment : momentsOf(operations)) {
    if (!moment.ends) {
      const auto free = std::find(slots.begin(), slots.end(), std::nullopt);
      if (free == slots.end()) throw std::invalid_argument("more than 30 operations at once");
      *free = moment.operation;
      continue;
    }
    const auto slot = static_cast<std::size_t>(
        std::find(slots.begin(), slots.end(), std::optional(moment.operation)) - slots.begin());
    const std::uint32_t mine = 1U << slot;
    // From each configuration, every order of the open operations up to this one's effect.
    std::set<Configuration> left, seen = reached;
    std::vector<Configuration> todo(reached.begin(), reached.end());
    while (!todo.empty()) {
      const Configuration now = std::move(todo.back());
      todo.pop_back();
      if ((now.second & mine) != 0) {
        left.emplace(now.first, now.second & ~mine);
        continue;
      }
      for (std::size_t s = 0; s < slots.size(); ++s) {
        if (!slots[s] || (now.second >> s & 1) != 0) continue;
        if (const auto value = after(now.first, operations[*slots[s]])) {
          Configuration next{*value, now.second | 1U << s};
          if (seen.insert(next).second) todo.push_back(std::move(next));
        }
      }
    }
    if (left.empty()) return described(operations[moment.operation]);
    reached = std::move(left);
    slots[slot].reset();
  }
  return {};
}

}  // namespace holdshelf::test
