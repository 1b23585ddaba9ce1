// SPDX-License-Identifier: Apache-2.0
#include "catalog/measured_text.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

namespace holdshelf {
namespace {

/// Characters as seen: UTF-8 continuation bytes do not count.
std::size_t seenLength(const std::string& text) {
  return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) {
    return (static_cast<unsigned char>(c) & 0xc0) != 0x80;
  }));
}

bool looksNumeric(const std::string& cell) {
  const std::size_t sign = cell.starts_with('-') ? 1 : 0;
  return cell.size() > sign && cell[sign] >= '0' && cell[sign] <= '9';
}

}  // namespace

std::string decimalText(double value, int decimals) {
  std::array<char, 64> text{};
  std::snprintf(text.data(), text.size(), "%.*f", decimals, value);
  const std::string result = text.data();
  const bool zero = result.find_first_not_of("-0.") == std::string::npos;
  return zero && result.starts_with('-') ? result.substr(1) : result;
}

std::string measuredText(const Measured& measured, const std::string& unit, double scale) {
  const double value = measured.value() * scale, sigma = measured.sigma() * scale;
  int decimals = 1;
  if (sigma > 0 && std::isfinite(sigma)) {
    const double exponent = std::floor(std::log10(sigma));
    const bool leading_one = sigma / std::pow(10, exponent) < 1.95;
    decimals = std::clamp(static_cast<int>(-exponent) + (leading_one ? 1 : 0), 0, 3);
  }
  const std::string gap = unit.empty() || unit == "°" ? "" : " ";
  std::string text = decimalText(value, decimals);
  if (!std::isfinite(sigma))
    text += " ± ?";
  else if (sigma > 0)
    text += " ± " + decimalText(sigma, decimals);
  return text + gap + unit;
}

std::string tableText(const std::vector<std::vector<std::string>>& rows) {
  std::vector<std::size_t> widths;
  std::vector<bool> numeric;
  for (std::size_t r = 0; r < rows.size(); ++r)
    for (std::size_t c = 0; c < rows[r].size(); ++c) {
      if (c >= widths.size()) widths.push_back(0), numeric.push_back(false);
      widths[c] = std::max(widths[c], seenLength(rows[r][c]));
      if (r > 0 && looksNumeric(rows[r][c])) numeric[c] = true;
    }
  std::string text;
  for (const auto& row : rows) {
    std::string line;
    for (std::size_t c = 0; c < row.size(); ++c) {
      const std::string pad(widths[c] - seenLength(row[c]), ' ');
      line += numeric[c] ? pad + row[c] : row[c] + pad;
      line += "  ";
    }
    line.resize(line.find_last_not_of(' ') + 1);
    text += line + "\n";
  }
  return text;
}

}  // namespace holdshelf
