// SPDX-License-Identifier: Apache-2.0
#include "catalog/hit_order.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "catalog/found_hit.h"

namespace holdshelf {

bool idBefore(const std::string& a, const std::string& b) {
  const auto cut = [](const std::string& id) {
    const std::size_t words = id.find_last_not_of("0123456789") + 1;  // npos + 1 is 0.
    return std::pair(words, std::min(id.find_first_not_of('0', words), id.size()));
  };
  const auto [a_words, a_number] = cut(a);
  const auto [b_words, b_number] = cut(b);
  if (const int words = a.compare(0, a_words, b, 0, b_words); words != 0) return words < 0;
  const std::size_t a_digits = a.size() - a_number, b_digits = b.size() - b_number;
  if (a_digits != b_digits) return a_digits < b_digits;
  return a.compare(a_number, a_digits, b, b_number, b_digits) < 0;
}

void sortMatches(const QueryMatcher& matcher, const std::vector<SearchEntry>& entries,
                 std::vector<std::size_t>& matches) {
  std::string key = matcher.query().sort();
  const bool falling = key.starts_with('-');
  if (falling) key.erase(0, 1);
  if (key.empty() && matcher.query().lab_size() == 3) key = "colour-distance";
  if (key == "name") {
    std::stable_sort(matches.begin(), matches.end(), [&](std::size_t x, std::size_t y) {
      return falling ? entries[y].name < entries[x].name : entries[x].name < entries[y].name;
    });
    return;
  }
  if (key.empty()) return;  // As they came in.
  if (key == "id") {
    const auto before = [&](std::size_t x, std::size_t y) {
      return idBefore(entries[x].id, entries[y].id);
    };
    // They mostly came in by their ids.
    if (!std::is_sorted(matches.begin(), matches.end(), before))
      std::stable_sort(matches.begin(), matches.end(), before);
    if (falling) std::reverse(matches.begin(), matches.end());
    return;
  }
  const NumberKind* kind = numberKind(key);
  std::vector<std::pair<double, std::size_t>> keyed;
  for (const std::size_t match : matches) {
    const SearchEntry& entry = entries[match];
    const double value = kind ? chosenValue(entry, matcher.chosenRows(entry), *kind)
                              : matcher.patchDifference(entry);
    keyed.emplace_back(std::isnan(value) ? INFINITY : falling ? -value : value, match);
  }
  std::stable_sort(keyed.begin(), keyed.end(),
                   [](const auto& x, const auto& y) { return x.first < y.first; });
  for (std::size_t i = 0; i < keyed.size(); ++i) matches[i] = keyed[i].second;
}

}  // namespace holdshelf
