// SPDX-License-Identifier: Apache-2.0
#include "catalog/query_match.h"

#include <algorithm>
#include <cmath>

#include "catalog/colour_difference.h"
#include "catalog/limit_text.h"
#include "catalog/name_limits.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr double kPatchWithin = 12;  // CIEDE2000, when the query does not say.
// Of ranges, or names in one list. Where nothing matches, the query is looked up again without
// each.
constexpr int kMostOfOneKind = 100;

void checkSize(const Query& query) {
  for (const int count :
       {query.ranges_size(), query.colours_size(), query.words_size(), query.bins_size(),
        query.sets_size(), query.sites_size(), query.statuses_size()})
    if (count > kMostOfOneKind)
      throw BadInput("A search takes up to " + std::to_string(kMostOfOneKind) +
                     " limits of one kind: ask for less at a time.");
}

void checkSort(std::string sort) {
  if (sort.starts_with('-')) sort.erase(0, 1);
  if (!sort.empty() && sort != "id" && sort != "name" && sort != "colour-distance")
    kindOrThrow(sort);
}

void checkMounting(const Query& query) {
  if (query.has_rotation_from_deg() != query.has_rotation_to_deg() ||
      query.rotation_from_deg() > query.rotation_to_deg())
    throw BadInput("A range of rotations needs both ends, the one reached first in front.");
  if (query.has_grip_force_from() && query.has_grip_force_to() &&
      query.grip_force_from() > query.grip_force_to())
    throw BadInput("The range of grip force is empty: write the smaller number first.");
  if (std::abs(query.wall_angle_deg()) > 90)
    throw BadInput("A wall cannot stand " + shortNumber(query.wall_angle_deg()) +
                   " degrees past vertical: write -90 to 90, negative for a slab.");
}

}  // namespace

QueryMatcher::QueryMatcher(const Query& query) : query_(query), numbers_(query) {
  checkSize(query);
  checkSort(query.sort());
  if (query.lab_size() != 0 && query.lab_size() != 3)
    throw BadInput("A colour patch needs three numbers: L, a and b.");
  if (query.lab_size() == 3) patch_ = Lab{query.lab(0), query.lab(1), query.lab(2)};
  patch_within_ = query.lab_within() > 0 ? query.lab_within() : kPatchWithin;
  asks_force_ = query.has_grip_force_from() || query.has_grip_force_to();
  checkMounting(query);
  numbers_only_ = query.colours_size() + query.words_size() + query.bins_size() +
                          query.sets_size() + query.sites_size() + query.lab_size() ==
                      0 &&
                  query.text().empty() && !asks_force_ && !query.foot();
}

bool QueryMatcher::hasWord(const SearchEntry& entry, const std::string& word) const {
  return std::any_of(entry.row.words.begin(), entry.row.words.end(), [&](const GripWord& w) {
    if (w.word() != word) return false;
    return !query_.has_rotation_from_deg() ||
           turnsOverlap(w.from_deg() + query_.pull_deg(), w.to_deg() + query_.pull_deg(),
                        query_.rotation_from_deg(), query_.rotation_to_deg());
  });
}

double QueryMatcher::patchDifference(const SearchEntry& entry) const {
  if (!patch_) return 0;
  // Exactly this black is what a hold has that came without photos or colours.
  if (entry.row.L == 0 && entry.row.a == 0 && entry.row.b == 0) return kNoColour;
  return colourDifference(*patch_, {entry.row.L, entry.row.a, entry.row.b});
}

bool QueryMatcher::matches(const SearchEntry& entry, Status status, const NumberBounds& bounds,
                           std::size_t hold) const {
  if (!statusFits(query_, status)) return false;
  Answered answered{};
  bool all = numbers_only_;
  for (std::size_t i = 0; i < kNumberGroups; ++i) {
    const auto group = static_cast<NumberGroup>(i);
    const std::vector<NumberLimits::Limit>& limits = numbers_.of(group);
    // Bounds that come from different rows answer only one limit, and only at any rotation.
    const bool alone =
        limits.size() == 1 && !(group == NumberGroup::Grip && numbers_.limitsRotation());
    for (const NumberLimits::Limit& limit : limits) {
      if (!bounds.mayFit(hold, *limit.kind, limit.least(), limit.most())) return false;
      answered[i] = alone && bounds.surelyFits(hold, *limit.kind, limit.least(), limit.most());
    }
    all = all && (limits.empty() || answered[i]);
  }
  return all || matches(entry, answered);
}

bool QueryMatcher::matches(const SearchEntry& entry, const Answered& answered) const {
  if (!statusFits(query_, entry.status) || !colourNameFits(query_, entry.colour)) return false;
  if (!placeFits(query_, entry)) return false;
  if (!textFits(query_, entry)) return false;
  for (const std::string& word : query_.words())
    if (!hasWord(entry, word)) return false;
  for (std::size_t i = 0; i < kNumberGroups; ++i) {
    const auto group = static_cast<NumberGroup>(i);
    if (numbers_.of(group).empty() || answered[i]) continue;
    if (numbers_.firstRow(group, entry.row.numbers[i]) < 0) return false;
  }
  return useFits(entry) && (!patch_ || patchDifference(entry) <= patch_within_);
}

MountingSpan QueryMatcher::span() const {
  MountingSpan span;
  if (query_.has_rotation_from_deg()) {
    span.from_deg = query_.rotation_from_deg();
    span.to_deg = query_.rotation_to_deg();
  }
  span.wall_angle_deg = query_.wall_angle_deg();
  span.pull_deg = query_.pull_deg();
  return span;
}

std::optional<MountedUse> QueryMatcher::handUse(const SearchEntry& entry) const {
  return asks_force_ ? mostForce(entry.row.mountings, span()) : std::nullopt;
}

std::optional<MountedUse> QueryMatcher::footUse(const SearchEntry& entry) const {
  return query_.foot() ? bestStand(entry.row.mountings, span()) : std::nullopt;
}

bool QueryMatcher::useFits(const SearchEntry& entry) const {
  if (asks_force_) {
    if (query_.has_grip_force_from() &&
        !entry.most_use.handMayReach(query_.wall_angle_deg(), query_.grip_force_from()))
      return false;
    const auto hand = handUse(entry);
    if (!hand) return false;
    if (query_.has_grip_force_from() && hand->fraction < query_.grip_force_from() - 1e-9)
      return false;
    if (query_.has_grip_force_to() && hand->fraction > query_.grip_force_to() + 1e-9) return false;
  }
  if (!query_.foot()) return true;
  if (!entry.most_use.footMayStand(query_.wall_angle_deg())) return false;
  const auto foot = footUse(entry);
  return foot && foot->fraction >= GripThresholds{}.toe_fraction - 1e-9;
}

ChosenRows QueryMatcher::chosenRows(const SearchEntry& entry, const LipRun* lip) const {
  ChosenRows rows{};
  for (std::size_t i = 0; i < kNumberGroups; ++i)
    rows[i] = numbers_.bestRow(static_cast<NumberGroup>(i), entry.row.numbers[i]);
  if (lip == nullptr) return rows;
  // Of the rotations with this lip, the one nearest to the middle.
  const auto grips = static_cast<std::size_t>(NumberGroup::Grip);
  const NumberTable& table = entry.row.numbers.at(grips);
  double nearest = 1e300;
  for (std::size_t row = 0; row < table.rows; ++row) {
    const double rotation_deg = table.rotation_deg[row];
    if (!lip->meets(rotation_deg, rotation_deg) || !numbers_.rowFits(NumberGroup::Grip, table, row))
      continue;
    if (const double off = angleBetween_deg(rotation_deg, lip->middle_deg()); off < nearest)
      nearest = off, rows.at(grips) = static_cast<int>(row);
  }
  return rows;
}

ChosenRows QueryMatcher::shownRows(const SearchEntry& entry) const {
  ChosenRows rows = chosenRows(entry);
  const auto grips = static_cast<std::size_t>(NumberGroup::Grip);
  const std::string& sort = query_.sort();
  const NumberKind* sorted = numberKind(sort.starts_with('-') ? sort.substr(1) : sort);
  const bool asked = !numbers_.of(NumberGroup::Grip).empty() || query_.has_rotation_from_deg() ||
                     (sorted && sorted->group == NumberGroup::Grip);
  if (asked || rows.at(grips) < 0) return rows;
  const auto hand = mostForce(entry.row.mountings, span());
  if (!hand || !(hand->fraction > 0)) return rows;
  const std::vector<float>& turns = entry.row.numbers.at(grips).rotation_deg;
  const auto off = [&](double row_deg) {
    return angleBetween_deg(turned_deg(row_deg), hand->rotation_deg);
  };
  const auto nearest = std::min_element(turns.begin(), turns.end(),
                                        [&](double x, double y) { return off(x) < off(y); });
  rows.at(grips) = static_cast<int>(nearest - turns.begin());
  return rows;
}

bool QueryMatcher::lipMayCount(const SearchEntry& entry, const LipRun& lip) const {
  const auto grips = static_cast<std::size_t>(NumberGroup::Grip);
  if (numbers_.of(NumberGroup::Grip).empty())
    return !query_.has_rotation_from_deg() ||
           lip.meets(query_.rotation_from_deg() - query_.pull_deg(),
                     query_.rotation_to_deg() - query_.pull_deg());
  const NumberTable& table = entry.row.numbers.at(grips);
  for (std::size_t row = 0; row < table.rows; ++row)
    if (lip.meets(table.rotation_deg[row], table.rotation_deg[row]) &&
        numbers_.rowFits(NumberGroup::Grip, table, row))
      return true;
  return false;
}

bool QueryMatcher::limitsMore() const {
  return query_.ranges_size() + query_.colours_size() + query_.words_size() + query_.bins_size() +
                 query_.sets_size() + query_.sites_size() + query_.statuses_size() +
                 query_.lab_size() >
             0 ||
         !query_.text().empty() || asks_force_ || query_.foot();
}

}  // namespace holdshelf
