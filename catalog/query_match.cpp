// SPDX-License-Identifier: Apache-2.0
#include "catalog/query_match.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <limits>

#include "catalog/colour_difference.h"
#include "catalog/hold_record.h"
#include "catalog/limit_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr double kNameMiss = 3;           // A wrong colour, bin, ... against small differences.
constexpr double kForceTolerance = 0.05;  // Of a jug: what a setter would call a small difference.
constexpr double kPatchTolerance = 6;     // CIEDE2000 that a setter still takes for the same set.
constexpr double kPatchWithin = 12;       // When the query does not say.
constexpr double kNoColour = 100;         // CIEDE2000 that a hold without measured colour is off.
constexpr float kInfinity = std::numeric_limits<float>::infinity();
// Search rows are kept in steps of 1/50: a limit that falls on a value must not exclude it.
constexpr float kHalfStep = 0.0101F;

bool contains(const google::protobuf::RepeatedPtrField<std::string>& names,
              const std::string& name) {
  return std::any_of(names.begin(), names.end(),
                     [&](const std::string& n) { return caseless(n) == caseless(name); });
}

/// "red" stands for every red; "vivid red" only for itself.
bool colourFits(const Query& query, const std::string& colour) {
  return query.colours().empty() || contains(query.colours(), colour) ||
         contains(query.colours(), basicTerm(colour));
}

bool statusFits(const Query& query, Status status) {
  if (query.statuses().empty()) return status != RETIRED;
  return std::count(query.statuses().begin(), query.statuses().end(), status) > 0;
}

bool textFits(const Query& query, const SearchEntry& entry) {
  const std::string text = caseless(query.text());
  return caseless(entry.name).find(text) != std::string::npos ||
         caseless(entry.id).find(text) != std::string::npos;
}

/// Whether two turning ranges, degrees and of any whole turns, have a rotation in common.
bool turnsOverlap(double from1, double to1, double from2, double to2) {
  for (const double turn : {-720.0, -360.0, 0.0, 360.0, 720.0})
    if (from1 + turn <= to2 && from2 <= to1 + turn) return true;
  return false;
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

std::string caseless(std::string text) {
  for (char& c : text)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  return text;
}

QueryMatcher::QueryMatcher(const Query& query) : query_(query) {
  for (const Range& range : query.ranges()) {
    const NumberKind& kind = kindOrThrow(range.number());
    const float from = range.has_from() ? static_cast<float>(range.from()) : -kInfinity;
    const float to = range.has_to() ? static_cast<float>(range.to()) : kInfinity;
    if (!(from <= to))
      throw BadInput("The range of " + range.number() +
                     " is empty: write the smaller number first.");
    limits_.at(static_cast<std::size_t>(kind.group)).push_back({&kind, from, to});
  }
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

bool QueryMatcher::rotationFits(NumberGroup group, const NumberTable& table,
                                std::size_t row) const {
  if (group != NumberGroup::Grip || !query_.has_rotation_from_deg()) return true;
  const double rotation = turned_deg(table.rotation_deg[row]);
  return turnsOverlap(rotation, rotation, query_.rotation_from_deg(), query_.rotation_to_deg());
}

bool QueryMatcher::rowFits(NumberGroup group, const NumberTable& table, std::size_t row) const {
  const float* values = &table.values[row * columnCount(group)];
  for (const Limit& limit : limits_[static_cast<std::size_t>(group)]) {
    const float value = values[limit.kind->column];
    if (!(value >= limit.from - kHalfStep && value <= limit.to + kHalfStep)) return false;
  }
  return rotationFits(group, table, row);
}

int QueryMatcher::bestRow(NumberGroup group, const NumberTable& table) const {
  int best = -1;
  float best_value = -kInfinity;
  for (std::size_t row = 0; row < table.rows; ++row) {
    const float value = table.values[row * columnCount(group)];
    if ((best >= 0 && !(value > best_value)) || !rowFits(group, table, row)) continue;
    best = static_cast<int>(row);
    best_value = std::isnan(value) ? -kInfinity : value;
  }
  return best;
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
    // Bounds that come from different rows answer only one limit, and only at any rotation.
    const bool alone =
        limits_[i].size() == 1 &&
        !(static_cast<NumberGroup>(i) == NumberGroup::Grip && query_.has_rotation_from_deg());
    for (const Limit& limit : limits_[i]) {
      const float from = limit.from - kHalfStep, to = limit.to + kHalfStep;
      if (!bounds.mayFit(hold, *limit.kind, from, to)) return false;
      answered[i] = alone && bounds.surelyFits(hold, *limit.kind, from, to);
    }
    all = all && (limits_[i].empty() || answered[i]);
  }
  return all || matches(entry, answered);
}

bool QueryMatcher::matches(const SearchEntry& entry, const Answered& answered) const {
  if (!statusFits(query_, entry.status) || !colourFits(query_, entry.colour)) return false;
  if (!query_.bins().empty() && !contains(query_.bins(), entry.bin)) return false;
  if (!query_.sets().empty() && !contains(query_.sets(), entry.set)) return false;
  if (!query_.sites().empty() && !contains(query_.sites(), entry.site)) return false;
  if (!query_.text().empty() && !textFits(query_, entry)) return false;
  for (const std::string& word : query_.words())
    if (!hasWord(entry, word)) return false;
  for (std::size_t i = 0; i < kNumberGroups; ++i) {
    const auto group = static_cast<NumberGroup>(i);
    const NumberTable& table = entry.row.numbers[i];
    if (limits_[i].empty() || answered[i]) continue;
    std::size_t row = 0;
    while (row < table.rows && !rowFits(group, table, row)) ++row;
    if (row == table.rows) return false;
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
    rows[i] = bestRow(static_cast<NumberGroup>(i), entry.row.numbers[i]);
  if (lip == nullptr) return rows;
  // Of the rotations with this lip, the one nearest to the middle.
  const auto grips = static_cast<std::size_t>(NumberGroup::Grip);
  const NumberTable& table = entry.row.numbers.at(grips);
  double nearest = 1e300;
  for (std::size_t row = 0; row < table.rows; ++row) {
    const double rotation_deg = table.rotation_deg[row];
    if (!lip->meets(rotation_deg, rotation_deg) || !rowFits(NumberGroup::Grip, table, row))
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
  const bool asked = !limits_.at(grips).empty() || query_.has_rotation_from_deg() ||
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
  if (limits_.at(grips).empty())
    return !query_.has_rotation_from_deg() ||
           lip.meets(query_.rotation_from_deg() - query_.pull_deg(),
                     query_.rotation_to_deg() - query_.pull_deg());
  const NumberTable& table = entry.row.numbers.at(grips);
  for (std::size_t row = 0; row < table.rows; ++row)
    if (lip.meets(table.rotation_deg[row], table.rotation_deg[row]) &&
        rowFits(NumberGroup::Grip, table, row))
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

int QueryMatcher::nearestRow(NumberGroup group, const NumberTable& table, double& distance) const {
  const std::size_t columns = columnCount(group);
  int nearest = -1;
  distance = std::numeric_limits<double>::infinity();
  for (std::size_t row = 0; row < table.rows; ++row) {
    double sum = rotationFits(group, table, row) ? 0 : kNameMiss;
    for (const Limit& limit : limits_.at(static_cast<std::size_t>(group))) {
      const float value = table.values[row * columns + limit.kind->column];
      const double short_by = std::max({0.0F, limit.from - value, value - limit.to});
      sum += std::isnan(value) ? 2 * kNameMiss : short_by / limit.kind->tolerance;
    }
    if (sum < distance) nearest = static_cast<int>(row), distance = sum;
    if (distance == 0) break;
  }
  return nearest;
}

template <typename Add>
void QueryMatcher::missNames(const SearchEntry& entry, const Add& add) const {
  if (!statusFits(query_, entry.status))
    add(kNameMiss, [&] {
      return entry.status == NEEDS_LOOK ? "needs a look" : "is " + statusText(entry.status);
    });
  if (!colourFits(query_, entry.colour))
    add(kNameMiss, [&] {
      return "is " + (entry.colour.empty() ? "of unknown colour" : entry.colour) + ", not " +
             anyOf(query_.colours());
    });
  const auto place = [](const std::string& name, const char* what) {
    return name.empty() ? std::string("is in no ") + what
                        : std::string("is in ") + what + " " + name;
  };
  if (!query_.bins().empty() && !contains(query_.bins(), entry.bin))
    add(kNameMiss, [&] { return place(entry.bin, "bin"); });
  if (!query_.sets().empty() && !contains(query_.sets(), entry.set))
    add(kNameMiss, [&] { return place(entry.set, "set"); });
  if (!query_.sites().empty() && !contains(query_.sites(), entry.site))
    add(kNameMiss, [&] { return place(entry.site, "site"); });
  if (!query_.text().empty() && !textFits(query_, entry))
    add(kNameMiss, [] { return std::string("has another name"); });
  for (const std::string& word : query_.words())
    if (!hasWord(entry, word))
      add(kNameMiss, [&] {
        return "is no " + word + (query_.has_rotation_from_deg() ? " at these rotations" : "");
      });
  if (const double difference = patchDifference(entry); patch_ && difference > patch_within_)
    add((difference - patch_within_) / kPatchTolerance, [&] {
      if (difference == kNoColour) return std::string("has no measured colour");
      return "colour differs by " + shortNumber(difference) + ", not " +
             shortNumber(patch_within_) + " or less";
    });
}

template <typename Add>
void QueryMatcher::missUse(const SearchEntry& entry, const Add& add) const {
  if (asks_force_) {
    const auto hand = handUse(entry);
    const double force = hand ? hand->fraction : 0;
    double short_by = 0;
    if (query_.has_grip_force_from())
      short_by = std::max(short_by, query_.grip_force_from() - force);
    if (query_.has_grip_force_to()) short_by = std::max(short_by, force - query_.grip_force_to());
    if (short_by > 1e-9)
      add(hand ? short_by / kForceTolerance : 2 * kNameMiss, [&] {
        std::array<char, 16> text{};
        std::snprintf(text.data(), text.size(), "%.2f", force);
        return hand ? std::string("grip force ") + text.data() + " of a jug " + wallText(query_) +
                          ", not " + forceText(query_)
                    : std::string("has no known grip force");
      });
  }
  if (!query_.foot()) return;
  const auto foot = footUse(entry);
  if (!foot || foot->fraction < GripThresholds{}.toe_fraction - 1e-9)
    add(kNameMiss, [&] { return "is no foot hold that keeps hands off " + wallText(query_); });
}

template <typename Add>
ChosenRows QueryMatcher::missNumbers(const SearchEntry& entry, const Add& add) const {
  ChosenRows rows{};
  for (std::size_t i = 0; i < kNumberGroups; ++i) {
    const auto group = static_cast<NumberGroup>(i);
    const NumberTable& table = entry.row.numbers[i];
    double distance = 0;
    rows[i] = nearestRow(group, table, distance);
    if (limits_[i].empty()) continue;
    if (rows[i] < 0) {
      add(2 * kNameMiss, [&] { return "has no " + std::string(limits_[i].front().kind->label); });
      continue;
    }
    const auto row = static_cast<std::size_t>(rows[i]);
    if (!rotationFits(group, table, row))
      add(kNameMiss, [&] {
        return "only when turned to " + shortNumber(turned_deg(table.rotation_deg[row])) + "°";
      });
    for (const Limit& limit : limits_[i]) {
      const float value = table.values[row * columnCount(group) + limit.kind->column];
      if (value >= limit.from - kHalfStep && value <= limit.to + kHalfStep) continue;
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

QueryMatcher::Miss QueryMatcher::miss(const SearchEntry& entry) const {
  Miss miss;
  const auto add = [&](double distance, const auto& reason) {
    miss.distance += distance;
    miss.reasons.push_back(reason());
  };
  missNames(entry, add);
  miss.rows = missNumbers(entry, add);
  missUse(entry, add);
  return miss;
}

double QueryMatcher::missDistance(const SearchEntry& entry) const {
  double sum = 0;
  const auto add = [&](double distance, const auto&) { sum += distance; };
  missNames(entry, add);
  missNumbers(entry, add);
  missUse(entry, add);
  return sum;
}

double QueryMatcher::missAtLeast(const SearchEntry& entry, const NumberBounds& bounds,
                                 std::size_t hold) const {
  double sum = statusFits(query_, entry.status) ? 0 : kNameMiss;
  for (const auto& limits : limits_) {
    double group = 0;
    for (const Limit& limit : limits) {
      const double short_by =
          bounds.shortBy(hold, *limit.kind, limit.from - kHalfStep, limit.to + kHalfStep);
      group += std::min(short_by / limit.kind->tolerance, 2 * kNameMiss);
    }
    // A hold without such a part is as far off as one number that is missing.
    sum += std::min(group, 2 * kNameMiss);
  }
  return sum;
}

}  // namespace holdshelf
