// SPDX-License-Identifier: Apache-2.0
#include "catalog/found_hit.h"

#include <algorithm>
#include <cmath>
#include <set>
#include <string>
#include <vector>

namespace holdshelf {
namespace {

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

void setUse(const std::optional<MountedUse>& use, FoundUse& found) {
  if (!use) return;
  found.set_fraction(use->fraction);
  found.set_rotation_deg(use->rotation_deg);
}

}  // namespace

double chosenValue(const SearchEntry& entry, const ChosenRows& rows, const NumberKind& kind) {
  const auto group = static_cast<std::size_t>(kind.group);
  if (rows.at(group) < 0) return NAN;
  const auto row = static_cast<std::size_t>(rows.at(group));
  return entry.row.numbers.at(group).values.at(row * columnCount(kind.group) + kind.column);
}

FindHit hitOf(const QueryMatcher& matcher, const SearchEntry& entry, const ChosenRows& rows) {
  FindHit hit;
  hit.set_id(entry.id);
  hit.set_name(entry.name);
  hit.set_bin(entry.bin);
  hit.set_set(entry.set);
  hit.set_status(entry.status);
  hit.set_colour(entry.colour);
  hit.set_site(entry.site);
  std::set<std::string> words;
  for (const GripWord& word : entry.row.words) words.insert(word.word());
  for (const std::string& word : words) hit.add_words(word);
  const auto grip = static_cast<std::size_t>(NumberGroup::Grip);
  if (rows.at(grip) >= 0)
    hit.set_rotation_deg(matcher.turned_deg(
        entry.row.numbers.at(grip).rotation_deg.at(static_cast<std::size_t>(rows.at(grip)))));
  for (const NumberKind* kind : shownNumbers(matcher.query())) {
    const double value = chosenValue(entry, rows, *kind);
    if (std::isnan(value)) continue;
    FoundNumber& number = *hit.add_numbers();
    number.set_number(kind->flag);
    number.set_value(value);
  }
  setUse(matcher.handUse(entry), *hit.mutable_hand());
  setUse(matcher.footUse(entry), *hit.mutable_foot());
  if (!matcher.handUse(entry)) hit.clear_hand();
  if (!matcher.footUse(entry)) hit.clear_foot();
  return hit;
}

FindHit lipHitOf(const QueryMatcher& matcher, const SearchEntry& entry, const LipProbe& probe,
                 const LipFound& found) {
  FindHit hit = hitOf(matcher, entry, matcher.chosenRows(entry, &found.run));
  hit.set_rotation_deg(matcher.turned_deg(found.run.middle_deg()));
  LipMatch& match = *hit.mutable_lip();
  const LipOverlay laid = overlay(probe[found.placement], found.run.curve);
  match.set_gap_mm(laid.gap_mm);
  match.set_gap_95_mm(laid.gap_95_mm);
  match.set_from_deg(matcher.turned_deg(found.run.from_deg()));
  match.set_to_deg(match.from_deg() + found.run.to_deg() - found.run.from_deg());
  const auto add = [](const Eigen::Vector2f& p, Point2& point) {
    point.set_x(p.y());
    point.set_y(p.x());
  };
  for (const auto& p : laid.wanted_mm) add(p, *match.add_wanted_mm());
  for (const auto& p : laid.found_mm) add(p, *match.add_found_mm());
  add(laid.shift_mm, *match.mutable_shift_mm());
  return hit;
}

}  // namespace holdshelf
