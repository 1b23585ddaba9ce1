// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "catalog/line_words.h"

namespace holdshelf {

/// What a number that holds are searched by (hold_numbers.h) is called by people.
struct NumberName {
  std::string phrase;  ///< "edge depth", "deep".
  std::string flag;    ///< Of the NumberKind: "edge-depth".
};

/// Labels, flags, and what people say after a value ("14 mm deep"); phrases of more words first, so
/// that the longest is read.
const std::vector<NumberName>& numberNames();

/// Reads a number's name if one comes next, and gives its flag.
std::optional<std::string> takeNumberName(LineWords& words);

/// Whether one comes next; nothing is read.
bool numberNameFollows(LineWords words);

}  // namespace holdshelf
