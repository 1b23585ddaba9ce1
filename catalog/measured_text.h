// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "proto/shape.pb.h"

namespace holdshelf {

/// A number with its standard uncertainty for people, rounded to the uncertainty's first digit
/// (second digit when the first is 1): "14.2 ± 0.3 mm", "61 ± 2 mm", "12.34 ± 0.12 mm". One that is
/// no number, as older libraries may hold, reads "14.2 ± ? mm".
/// `scale` converts to the unit shown: 1e-3 for mm³ shown as cm³.
std::string measuredText(const Measured& measured, const std::string& unit, double scale = 1);

/// A plain number with the decimals given, without a trailing minus zero.
std::string decimalText(double value, int decimals);

/// Columns aligned by their widest cell; the first row is the header. Cells that look like numbers
/// stand at the right. Two spaces between columns; UTF-8 counts as it is seen.
std::string tableText(const std::vector<std::vector<std::string>>& rows);

}  // namespace holdshelf
