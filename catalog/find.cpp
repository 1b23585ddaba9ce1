// SPDX-License-Identifier: Apache-2.0
#include "catalog/find.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "catalog/hold_record.h"

namespace holdshelf {
namespace {

constexpr std::size_t kNearestMisses = 3;

/// Value of a number in the rows that answer; NaN where the hold has none.
double chosenValue(const SearchEntry& entry, const ChosenRows& rows, const NumberKind& kind) {
  const auto group = static_cast<std::size_t>(kind.group);
  if (rows.at(group) < 0) return NAN;
  const auto row = static_cast<std::size_t>(rows.at(group));
  return entry.row.numbers.at(group).values.at(row * columnCount(kind.group) + kind.column);
}

/// The numbers that a hit shows: those asked about and sorted by, then what every list shows.
std::vector<const NumberKind*> shownNumbers(const Query& query) {
  std::vector<const NumberKind*> kinds;
  const auto add = [&](const std::string& flag) {
    const NumberKind* kind = numberKind(flag);
    if (kind != nullptr && std::find(kinds.begin(), kinds.end(), kind) == kinds.end())
      kinds.push_back(kind);
  };
  for (const Range& range : query.ranges()) add(range.number());
  add(query.sort().starts_with('-') ? query.sort().substr(1) : query.sort());
  for (const char* flag : {"edge-depth", "lip-radius", "incut", "edge-width", "protrusion"})
    add(flag);
  return kinds;
}

FindHit hitOf(const QueryMatcher& matcher, const SearchEntry& entry, const ChosenRows& rows) {
  FindHit hit;
  hit.set_id(entry.id);
  hit.set_name(entry.name);
  hit.set_bin(entry.bin);
  hit.set_set(entry.set);
  hit.set_status(entry.status);
  hit.set_colour(entry.colour);
  std::set<std::string> words;
  for (const GripWord& word : entry.row.words) words.insert(word.word());
  for (const std::string& word : words) hit.add_words(word);
  const auto grip = static_cast<std::size_t>(NumberGroup::Grip);
  if (rows.at(grip) >= 0)
    hit.set_rotation_deg(
        entry.row.numbers.at(grip).rotation_deg.at(static_cast<std::size_t>(rows.at(grip))));
  for (const NumberKind* kind : shownNumbers(matcher.query())) {
    const double value = chosenValue(entry, rows, *kind);
    if (std::isnan(value)) continue;
    FoundNumber& number = *hit.add_numbers();
    number.set_number(kind->flag);
    number.set_value(value);
  }
  return hit;
}

/// Puts the matches in the query's order; holds without the number come last either way.
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
  if (key.empty() || key == "id") {
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

std::string counted(std::size_t count) {
  return count == 1 ? "1 hold" : std::to_string(count) + " holds";
}

}  // namespace

SearchIndex::SearchIndex(const Library& library) {
  sqlite::Statement statement(library.database(),
                              "SELECT id, status, name, bin, set_name, colour, search FROM hold "
                              "ORDER BY key");
  while (statement.step())
    add({statement.text(0), statement.text(2), statement.text(3), statement.text(4),
         statement.text(5), static_cast<Status>(statement.integer(1)),
         unpackSearchRow(statement.blob(6))});
}

SearchIndex::SearchIndex(const std::vector<Hold>& holds) {
  for (const Hold& hold : holds)
    add({hold.id(), hold.name(), hold.bin(), hold.set(), hold.colour().name(), hold.status(),
         searchRow(hold)});
}

void SearchIndex::add(SearchEntry entry) {
  bounds_.add(entry.row.numbers);
  entries_.push_back(std::move(entry));
}

FindResult SearchIndex::find(const Query& query) const {
  const QueryMatcher matcher(query);
  std::vector<char> fits(entries_.size());
  tbb::parallel_for(std::size_t{0}, entries_.size(), [&](std::size_t i) {
    fits[i] = matcher.matches(entries_[i], bounds_, i) ? 1 : 0;
  });
  std::vector<std::size_t> matches;
  for (std::size_t i = 0; i < fits.size(); ++i)
    if (fits[i] != 0) matches.push_back(i);
  sortMatches(matcher, entries_, matches);

  FindResult result;
  result.set_searched(static_cast<std::int64_t>(entries_.size()));
  result.set_matched(static_cast<std::int64_t>(matches.size()));
  if (query.limit() > 0 && matches.size() > static_cast<std::size_t>(query.limit()))
    matches.resize(static_cast<std::size_t>(query.limit()));
  for (const std::size_t match : matches)
    *result.add_hits() = hitOf(matcher, entries_[match], matcher.chosenRows(entries_[match]));
  if (result.matched() == 0) explainNone(matcher, result);
  return result;
}

void SearchIndex::explainNone(const QueryMatcher& matcher, FindResult& result) const {
  if (entries_.empty()) {
    result.set_explanation("The library is empty: put a hold in with holdshelf intake.");
    return;
  }
  std::vector<std::pair<double, std::size_t>> nearest;
  std::vector<QueryMatcher::Miss> misses(entries_.size());
  tbb::parallel_for(std::size_t{0}, entries_.size(),
                    [&](std::size_t i) { misses[i] = matcher.miss(entries_[i]); });
  for (std::size_t i = 0; i < misses.size(); ++i) nearest.emplace_back(misses[i].distance, i);
  const std::size_t shown = std::min(kNearestMisses, nearest.size());
  std::partial_sort(nearest.begin(), nearest.begin() + static_cast<std::ptrdiff_t>(shown),
                    nearest.end());
  for (std::size_t i = 0; i < shown; ++i) {
    const std::size_t entry = nearest[i].second;
    FindHit& hit = *result.add_nearest_misses();
    hit = hitOf(matcher, entries_[entry], misses[entry].rows);
    for (const std::string& reason : misses[entry].reasons) hit.add_excluded_by(reason);
  }

  std::string freed;
  for (const auto& [limit, query] : withoutEachLimit(matcher.query())) {
    const QueryMatcher wider(query);
    std::size_t count = 0;
    for (std::size_t i = 0; i < entries_.size(); ++i)
      count += wider.matches(entries_[i], bounds_, i) ? 1U : 0U;
    if (count > 0)
      freed += (freed.empty() ? "" : "; ") + ("without \"" + limit + "\" " + counted(count));
  }
  result.set_explanation(
      "None of " + counted(entries_.size()) + " matches" +
      (freed.empty() ? ", and no single limit is to blame." : ": " + freed + "."));
}

}  // namespace holdshelf
