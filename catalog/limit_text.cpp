// SPDX-License-Identifier: Apache-2.0
#include "catalog/limit_text.h"

#include <array>
#include <cstdio>

#include "catalog/shown_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

std::string knownNumbers() {
  std::string list;
  for (const NumberKind& kind : numberKinds())
    list += (list.empty() ? "" : ", ") + std::string(kind.flag);
  return list;
}

}  // namespace

std::string shortNumber(double value) {
  std::array<char, 32> text{};
  std::snprintf(text.data(), text.size(), "%.1f", value);
  std::string trimmed = text.data();
  if (trimmed.ends_with(".0")) trimmed.resize(trimmed.size() - 2);
  return trimmed == "-0" ? "0" : trimmed;
}

std::string withUnit(double value, const std::string& unit) {
  if (unit.empty() || unit == "°") return shortNumber(value) + unit;
  return shortNumber(value) + " " + unit;
}

std::string anyOf(const google::protobuf::RepeatedPtrField<std::string>& names) {
  std::string text;
  for (int i = 0; i < names.size(); ++i)
    text += (i == 0 ? "" : i + 1 == names.size() ? " or " : ", ") + names[i];
  return text;
}

const NumberKind& kindOrThrow(const std::string& flag) {
  if (const NumberKind* kind = numberKind(flag)) return *kind;
  throw BadInput("There is no number \"" + givenStart(flag, 40) + "\": the numbers are " +
                 knownNumbers() + ".");
}

std::string rangeText(const Range& range) {
  const std::string unit = kindOrThrow(range.number()).unit;
  if (range.has_from() && range.has_to())
    return withUnit(range.from(), unit) + " to " + withUnit(range.to(), unit);
  if (range.has_from()) return withUnit(range.from(), unit) + " or more";
  return withUnit(range.to(), unit) + " or less";
}

std::string forceText(const Query& query) {
  const auto two = [](double value) {
    std::array<char, 16> text{};
    std::snprintf(text.data(), text.size(), "%.2f", value);
    return std::string(text.data());
  };
  if (query.has_grip_force_from() && query.has_grip_force_to())
    return two(query.grip_force_from()) + " to " + two(query.grip_force_to());
  return query.has_grip_force_from() ? two(query.grip_force_from()) + " or more"
                                     : two(query.grip_force_to()) + " or less";
}

std::string wallText(const Query& query) {
  const double angle = query.wall_angle_deg();
  if (angle == 0) return "on a vertical wall";
  return angle > 0 ? "at " + shortNumber(angle) + "° past vertical"
                   : "on a slab of " + shortNumber(-angle) + "°";
}

std::vector<std::pair<std::string, Query>> withoutEachLimit(const Query& query) {
  std::vector<std::pair<std::string, Query>> queries;
  const auto add = [&](const std::string& text, const auto& drop) {
    queries.emplace_back(text, query);
    drop(queries.back().second);
  };
  for (int i = 0; i < query.ranges_size(); ++i)
    add(kindOrThrow(query.ranges(i).number()).label + (" " + rangeText(query.ranges(i))),
        [&](Query& q) { q.mutable_ranges()->DeleteSubrange(i, 1); });
  if (!query.colours().empty())
    add("colour " + anyOf(query.colours()), [](Query& q) { q.clear_colours(); });
  if (query.lab_size() > 0) add("colour patch", [](Query& q) { q.clear_lab(); });
  for (int i = 0; i < query.words_size(); ++i)
    add("word " + query.words(i), [&](Query& q) { q.mutable_words()->DeleteSubrange(i, 1); });
  if (!query.bins().empty()) add("bin " + anyOf(query.bins()), [](Query& q) { q.clear_bins(); });
  if (!query.sets().empty()) add("set " + anyOf(query.sets()), [](Query& q) { q.clear_sets(); });
  if (!query.sites().empty())
    add("site " + anyOf(query.sites()), [](Query& q) { q.clear_sites(); });
  if (!query.text().empty()) add("name " + query.text(), [](Query& q) { q.clear_text(); });
  if (query.has_rotation_from_deg())
    add("rotation", [](Query& q) { q.clear_rotation_from_deg(), q.clear_rotation_to_deg(); });
  if (query.has_grip_force_from() || query.has_grip_force_to())
    add("grip force " + forceText(query),
        [](Query& q) { q.clear_grip_force_from(), q.clear_grip_force_to(); });
  if (query.foot()) add("foot use", [](Query& q) { q.clear_foot(); });
  if (!query.statuses().empty())
    add("status", [](Query& q) {
      q.clear_statuses();
      for (const Status s : {SHELF, CRATE, WALL, WASH, NEEDS_LOOK, RETIRED}) q.add_statuses(s);
    });
  return queries;
}

}  // namespace holdshelf
