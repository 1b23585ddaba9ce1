// SPDX-License-Identifier: Apache-2.0
#include "catalog/query_text.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <optional>
#include <sstream>
#include <vector>

#include "catalog/console.h"
#include "catalog/hold_numbers.h"
#include "catalog/shown_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr double kRotationStep_deg = 5;  // Of the grip map.

struct Ends {
  std::optional<double> from, to;
};

/// nullopt when the text is no range.
std::optional<Ends> parseEnds(const std::string& text, double tolerance) {
  for (const std::string spread : {"±", "+-"}) {
    const std::size_t at = text.find(spread);
    if (at == std::string::npos) continue;
    const auto value = parseNumber(text.substr(0, at));
    const auto by = parseNumber(text.substr(at + spread.size()));
    if (!value || !by || *by < 0) return std::nullopt;
    return Ends{*value - *by, *value + *by};
  }
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

std::optional<double> parseNumber(std::string_view text) {
  if (text.starts_with('+')) text.remove_prefix(1);
  double value = 0;
  const auto [end, error] =
      std::from_chars(text.data(), text.data() + text.size(), value, std::chars_format::fixed);
  if (error != std::errc{} || end != text.data() + text.size() || !std::isfinite(value))
    return std::nullopt;
  return value;
}

Range parseRange(const std::string& number, const std::string& text) {
  const NumberKind* kind = numberKind(number);
  if (kind == nullptr) throw BadInput("There is no number \"" + givenStart(number, 40) + "\".");
  const auto ends = parseEnds(text, kind->tolerance);
  if (!ends)
    throw BadInput("\"" + givenStart(text, 40) + "\" is no range for " + number +
                   ": write 12..20, 12.. (or more), ..20 (or less) or 14±1.");
  if (ends->from && ends->to && *ends->from > *ends->to)
    throw BadInput("The range " + givenStart(text, 40) + " for " + number +
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
    throw BadInput("\"" + givenStart(text, 40) +
                   "\" is no range of rotations: write 0..60, or 330..30 through zero.");
  if (*ends->to < *ends->from) *ends->to += 360;
  query.set_rotation_from_deg(*ends->from);
  query.set_rotation_to_deg(*ends->to);
}

void setDrawnLip(LipQuery& lip, const std::string& text, const std::string& what) {
  const std::size_t first = text.find_first_not_of(" \t\r\n");
  if (first != std::string::npos && text[first] == '{') {
    fromJson(text, what, lip);
    return;
  }
  std::istringstream lines(text);
  std::string line;
  for (int number = 1; std::getline(lines, line); ++number) {
    if (line.find('#') != std::string::npos) line.erase(line.find('#'));
    for (char& c : line)
      if (c == ',' || c == ';' || c == '\t' || c == '\r') c = ' ';
    std::istringstream fields(line);
    std::string out, up, more;
    if (!(fields >> out)) continue;
    fields >> up >> more;
    const auto x = parseNumber(out), y = parseNumber(up);
    if (!x || !y || !more.empty())
      throw BadInput("Line " + std::to_string(number) + " of " + what +
                     " is no point: write two numbers, mm away from the wall and mm up.");
    Point2& point = *lip.add_points_mm();
    point.set_x(*x);
    point.set_y(*y);
  }
  if (lip.points_mm_size() < 2)
    throw BadInput(what + " holds no drawn section: write at least two points, one a line.");
}

void setLipLike(LipQuery& lip, const std::string& text) {
  const std::size_t at = text.find('@');
  lip.set_like(text.substr(0, at));
  if (at == std::string::npos) return;
  const auto rotation = parseNumber(text.substr(at + 1));
  if (!rotation)
    throw BadInput("\"" + givenStart(text, 40) +
                   "\" names no lip: write H-0123, or H-0123@30 for the one at 30°.");
  lip.set_like_rotation_deg(*rotation);
}

}  // namespace holdshelf
