// SPDX-License-Identifier: Apache-2.0
#include "catalog/line_value.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <utility>

#include "catalog/query_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

/// "14mm" without its unit, and what the unit multiplies by.
std::string trimUnit(std::string text, double& factor) {
  for (const auto& [unit, times] : {std::pair{"mm", 1.0}, {"cm", 10.0}, {"deg", 1.0}, {"°", 1.0}})
    if (text.size() > std::string(unit).size() && text.ends_with(unit) &&
        !std::isalpha(
            static_cast<unsigned char>(text[text.size() - std::string(unit).size() - 1]))) {
      factor = times;
      return text.substr(0, text.size() - std::string(unit).size());
    }
  return text;
}

std::optional<double> plainNumber(const std::string& text) {
  constexpr std::array kCounts = {"zero", "one", "two", "three", "four", "five", "six"};
  for (std::size_t i = 1; i < kCounts.size(); ++i)
    if (text == kCounts[i]) return static_cast<double>(i);
  return parseNumber(text);
}

void readUnit(LineWords& words, double& factor) {
  if (words.next("cm")) factor = 10;
  (void)words.nextOf({"mm", "deg", "degree", "degrees", "°", "cm²", "cm³"});
}

double numberAndUnit(LineWords& words, const std::string& what, double& factor) {
  const std::size_t at = words.at();
  const auto number = words.atEnd() ? std::nullopt : plainNumber(trimUnit(words.lower(), factor));
  if (!number)
    words.fail(at,
               words.atEnd() ? "comes too early: " + what + " is missing" : "should be " + what);
  words.skip();
  readUnit(words, factor);
  return *number;
}

}  // namespace

std::string withoutUnit(std::string text) {
  double factor = 1;
  return trimUnit(std::move(text), factor);
}

double takeNumber(LineWords& words, const std::string& what) {
  double factor = 1;
  return numberAndUnit(words, what, factor);
}

std::optional<LineValue> takeValue(LineWords& words) {
  const std::size_t begin = words.at();
  double factor = 1;
  const bool least = words.nextOf({"over", "above", "more than", "at least", "from", ">=", ">"});
  const bool most =
      !least && words.nextOf({"under", "below", "less than", "at most", "up to", "<=", "<"});
  if (!least && !most) (void)words.nextOf({"about", "around", "exactly"});
  if (words.atEnd()) return words.goTo(begin), std::nullopt;
  LineValue value;
  const std::string text = trimUnit(words.lower(), factor);
  const std::size_t dots = text.find("..");
  const std::size_t spread = std::min(text.find("±"), text.find("+-"));
  if (const auto one = plainNumber(text)) {
    words.skip();
    value = {one, one, true};
    if (!least && !most && words.nextOf({"to", "-"})) {
      const auto other =
          words.atEnd() ? std::nullopt : plainNumber(trimUnit(words.lower(), factor));
      if (!other) words.fail(words.at(), "is no number: a range ends with one, e.g. 14 to 20");
      words.skip();
      value = {one, other, false};
    } else if (words.nextOf({"±", "+-"})) {
      const double by = numberAndUnit(words, "how much", factor);
      value = {*one - by, *one + by, false};
    }
  } else if (dots != std::string::npos || spread != std::string::npos) {
    Range range;  // Any number's will do: both ends are given.
    try {
      range = parseRange("edge-depth", text);
    } catch (const BadInput&) {
      words.fail(words.at(), "is no range: write 12..20, 12.. or more, ..20 or less");
    }
    words.skip();
    if (range.has_from()) value.from = range.from();
    if (range.has_to()) value.to = range.to();
  } else {
    return words.goTo(begin), std::nullopt;
  }
  readUnit(words, factor);
  if (value.alone && (least || words.next("or more"))) value = {value.from, std::nullopt, false};
  if (value.alone && (most || words.next("or less"))) value = {std::nullopt, value.to, false};
  if (value.from) *value.from *= factor;
  if (value.to) *value.to *= factor;
  return value;
}

}  // namespace holdshelf
