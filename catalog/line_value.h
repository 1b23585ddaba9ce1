// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>
#include <string>

#include "catalog/line_words.h"

namespace holdshelf {

/// A value as people say it in a line, in the unit that its number is kept in (cm are multiplied to
/// mm). Neither end where it has none: "over 14" has no upper one.
struct LineValue {
  std::optional<double> from, to;
  bool alone = false;  ///< One number without "over" or the like: its tolerance belongs to it.
};

/// Reads a value if one comes next:
///
///     14   14mm   about 1.4 cm   four   over 14   14 or more   at most 20   14..20 mm   ..20
///     14 to 20   17 ± 3 mm
///
/// @return  nullopt, and nothing is read, where no value comes next.
/// @throws BadInput  One begins and does not go on as one: points at the word.
std::optional<LineValue> takeValue(LineWords& words);

/// Reads one number with or without its unit. @param what  It stands for, for the sentence.
/// @throws BadInput  None comes next.
double takeNumber(LineWords& words, const std::string& what);

/// "14mm" without its unit.
std::string withoutUnit(std::string text);

}  // namespace holdshelf
