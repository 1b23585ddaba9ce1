// SPDX-License-Identifier: Apache-2.0
#include "catalog/query_text.h"

#include <charconv>
#include <cmath>
#include <optional>

#include "catalog/hold_numbers.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr double kRotationStep_deg = 5;  // Of the grip map.

std::optional<double> parseNumber(std::string_view text) {
  if (text.starts_with('+')) text.remove_prefix(1);
  double value = 0;
  const auto [end, error] =
      std::from_chars(text.data(), text.data() + text.size(), value, std::chars_format::fixed);
  if (error != std::errc{} || end != text.data() + text.size() || !std::isfinite(value))
    return std::nullopt;
  return value;
}

struct Ends {
  std::optional<double> from, to;
};

/// nullopt when the text is no range.
std::optional<Ends> parseEnds(const std::string& text, double tolerance) {
  const std::size_t dots = text.find("..");
  if (dots == std::string::npos) {
    const auto value = parseNumber(text);
    if (!value) return std::nullopt;
    return Ends{*value - tolerance, *value + tolerance};
  }
  const std::string left = text.substr(0, dots), right = text.substr(dots + 2);
  Ends ends{parseNumber(left), parseNumber(right)};
  const bool bad = (!left.empty() && !ends.from) || (!right.empty() && !ends.to);
  if (bad || (left.empty() && right.empty())) return std::nullopt;
  return ends;
}

}  // namespace

Range parseRange(const std::string& number, const std::string& text) {
  const NumberKind* kind = numberKind(number);
  if (kind == nullptr) throw BadInput("There is no number \"" + number + "\".");
  const auto ends = parseEnds(text, kind->tolerance);
  if (!ends)
    throw BadInput("\"" + text + "\" is no range for " + number +
                   ": write 12..20, 12.. (or more) or ..20 (or less).");
  if (ends->from && ends->to && *ends->from > *ends->to)
    throw BadInput("The range " + text + " for " + number +
                   " is empty: write the smaller number first.");
  Range range;
  range.set_number(number);
  if (ends->from) range.set_from(*ends->from);
  if (ends->to) range.set_to(*ends->to);
  return range;
}

void setRotation(Query& query, const std::string& text) {
  auto ends = parseEnds(text, kRotationStep_deg / 2);
  if (!ends || !ends->from || !ends->to)
    throw BadInput("\"" + text +
                   "\" is no range of rotations: write 0..60, or 330..30 through zero.");
  if (*ends->to < *ends->from) *ends->to += 360;
  query.set_rotation_from_deg(*ends->from);
  query.set_rotation_to_deg(*ends->to);
}

}  // namespace holdshelf
