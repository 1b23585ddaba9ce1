// SPDX-License-Identifier: Apache-2.0
#include "catalog/query_miss.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <limits>

#include "catalog/hold_record.h"
#include "catalog/limit_text.h"
#include "catalog/name_limits.h"

namespace holdshelf {
namespace {

constexpr double kNameMiss = 3;           // A wrong colour, bin, ... against small differences.
constexpr double kForceTolerance = 0.05;  // Of a jug: what a setter would call a small difference.
constexpr double kPatchTolerance = 6;     // CIEDE2000 that a setter still takes for the same set.

/// The row that misses the limits of its group by least, and by how much; -1: there are no rows.
int nearestRow(const NumberLimits& limits, NumberGroup group, const NumberTable& table,
               double& distance) {
  const std::size_t columns = columnCount(group);
  int nearest = -1;
  distance = std::numeric_limits<double>::infinity();
  for (std::size_t row = 0; row < table.rows; ++row) {
    double sum = limits.rotationFits(group, table, row) ? 0 : kNameMiss;
    for (const NumberLimits::Limit& limit : limits.of(group)) {
      const float value = table.values[row * columns + limit.kind->column];
      const double short_by = std::max({0.0F, limit.from - value, value - limit.to});
      sum += std::isnan(value) ? 2 * kNameMiss : short_by / limit.kind->tolerance;
    }
    if (sum < distance) nearest = static_cast<int>(row), distance = sum;
    if (distance == 0) break;
  }
  return nearest;
}

// Each calls add(distance, reason) for each failed limit, where reason() makes the words.

template <typename Add>
void missNames(const QueryMatcher& matcher, const SearchEntry& entry, const Add& add) {
  const Query& query = matcher.query();
  if (!statusFits(query, entry.status))
    add(kNameMiss, [&] {
      return entry.status == NEEDS_LOOK ? "needs a look" : "is " + statusText(entry.status);
    });
  if (!colourNameFits(query, entry.colour))
    add(kNameMiss, [&] {
      return "is " + (entry.colour.empty() ? "of unknown colour" : entry.colour) + ", not " +
             anyOf(query.colours());
    });
  const auto place = [](const std::string& name, const char* what) {
    return name.empty() ? std::string("is in no ") + what
                        : std::string("is in ") + what + " " + name;
  };
  if (!query.bins().empty() && !isAmong(query.bins(), entry.bin))
    add(kNameMiss, [&] { return place(entry.bin, "bin"); });
  if (!query.sets().empty() && !isAmong(query.sets(), entry.set))
    add(kNameMiss, [&] { return place(entry.set, "set"); });
  if (!query.sites().empty() && !isAmong(query.sites(), entry.site))
    add(kNameMiss, [&] { return place(entry.site, "site"); });
  if (!textFits(query, entry)) add(kNameMiss, [] { return std::string("has another name"); });
  for (const std::string& word : query.words())
    if (!matcher.hasWord(entry, word))
      add(kNameMiss, [&] {
        return "is no " + word + (query.has_rotation_from_deg() ? " at these rotations" : "");
      });
  if (const double difference = matcher.patchDifference(entry); difference > matcher.patchWithin())
    add((difference - matcher.patchWithin()) / kPatchTolerance, [&] {
      if (difference == QueryMatcher::kNoColour) return std::string("has no measured colour");
      return "colour differs by " + shortNumber(difference) + ", not " +
             shortNumber(matcher.patchWithin()) + " or less";
    });
}

template <typename Add>
void missUse(const QueryMatcher& matcher, const SearchEntry& entry, const Add& add) {
  const Query& query = matcher.query();
  if (matcher.asksForce()) {
    const auto hand = matcher.handUse(entry);
    const double force = hand ? hand->fraction : 0;
    double short_by = 0;
    if (query.has_grip_force_from()) short_by = std::max(short_by, query.grip_force_from() - force);
    if (query.has_grip_force_to()) short_by = std::max(short_by, force - query.grip_force_to());
    if (short_by > 1e-9)
      add(hand ? short_by / kForceTolerance : 2 * kNameMiss, [&] {
        std::array<char, 16> text{};
        std::snprintf(text.data(), text.size(), "%.2f", force);
        return hand ? std::string("grip force ") + text.data() + " of a jug " + wallText(query) +
                          ", not " + forceText(query)
                    : std::string("has no known grip force");
      });
  }
  if (!query.foot()) return;
  const auto foot = matcher.footUse(entry);
  if (!foot || foot->fraction < GripThresholds{}.toe_fraction - 1e-9)
    add(kNameMiss, [&] { return "is no foot hold that keeps hands off " + wallText(query); });
}

template <typename Add>
ChosenRows missNumbers(const QueryMatcher& matcher, const SearchEntry& entry, const Add& add) {
  const NumberLimits& numbers = matcher.numbers();
  ChosenRows rows{};
  for (std::size_t i = 0; i < kNumberGroups; ++i) {
    const auto group = static_cast<NumberGroup>(i);
    const NumberTable& table = entry.row.numbers[i];
    double distance = 0;
    rows[i] = nearestRow(numbers, group, table, distance);
    if (numbers.of(group).empty()) continue;
    if (rows[i] < 0) {
      add(2 * kNameMiss,
          [&] { return "has no " + std::string(numbers.of(group).front().kind->label); });
      continue;
    }
    const auto row = static_cast<std::size_t>(rows[i]);
    if (!numbers.rotationFits(group, table, row))
      add(kNameMiss, [&] {
        return "only when turned to " + shortNumber(matcher.turned_deg(table.rotation_deg[row])) +
               "°";
      });
    for (const NumberLimits::Limit& limit : numbers.of(group)) {
      const float value = table.values[row * columnCount(group) + limit.kind->column];
      if (limit.holds(value)) continue;
      const double short_by = std::max(limit.from - value, value - limit.to);
      add(std::isnan(value) ? 2 * kNameMiss : short_by / limit.kind->tolerance, [&] {
        Range range;
        range.set_number(limit.kind->flag);
        if (std::isfinite(limit.from)) range.set_from(limit.from);
        if (std::isfinite(limit.to)) range.set_to(limit.to);
        return std::isnan(value)
                   ? "has no " + std::string(limit.kind->label)
                   : limit.kind->label + std::string(" ") + withUnit(value, limit.kind->unit) +
                         ", not " + rangeText(range);
      });
    }
  }
  return rows;
}

}  // namespace

QueryMiss missOf(const QueryMatcher& matcher, const SearchEntry& entry) {
  QueryMiss miss;
  const auto add = [&](double distance, const auto& reason) {
    miss.distance += distance;
    miss.reasons.push_back(reason());
  };
  missNames(matcher, entry, add);
  miss.rows = missNumbers(matcher, entry, add);
  missUse(matcher, entry, add);
  return miss;
}

double missDistance(const QueryMatcher& matcher, const SearchEntry& entry) {
  double sum = 0;
  const auto add = [&](double distance, const auto&) { sum += distance; };
  missNames(matcher, entry, add);
  missNumbers(matcher, entry, add);
  missUse(matcher, entry, add);
  return sum;
}

double missAtLeast(const QueryMatcher& matcher, const SearchEntry& entry,
                   const NumberBounds& bounds, std::size_t hold) {
  double sum = statusFits(matcher.query(), entry.status) ? 0 : kNameMiss;
  for (std::size_t i = 0; i < kNumberGroups; ++i) {
    double group = 0;
    for (const NumberLimits::Limit& limit : matcher.numbers().of(static_cast<NumberGroup>(i))) {
      const double short_by = bounds.shortBy(hold, *limit.kind, limit.least(), limit.most());
      group += std::min(short_by / limit.kind->tolerance, 2 * kNameMiss);
    }
    // A hold without such a part is as far off as one number that is missing.
    sum += std::min(group, 2 * kNameMiss);
  }
  return sum;
}

}  // namespace holdshelf
