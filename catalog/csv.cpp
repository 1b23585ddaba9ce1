// SPDX-License-Identifier: Apache-2.0
#include "catalog/csv.h"

#include <algorithm>
#include <array>

#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

[[noreturn]] void refuse(const std::string& file, std::size_t line, const std::string& why) {
  throw BadInput(file + ", line " + std::to_string(line) + ": " + why);
}

char separatorOf(std::string_view text) {
  std::array<std::pair<char, int>, 3> counts{{{',', 0}, {';', 0}, {'\t', 0}}};
  bool quoted = false;
  for (const char c : text) {
    if (c == '"') quoted = !quoted;
    if (!quoted && c == '\n') break;
    for (auto& [separator, count] : counts) count += !quoted && c == separator ? 1 : 0;
  }
  return std::max_element(counts.begin(), counts.end(),
                          [](const auto& x, const auto& y) { return x.second < y.second; })
      ->first;
}

/// The first byte that is no part of a well-formed UTF-8 character, or the size. Overlong forms and
/// surrogates are let pass: they garble a name, no more.
std::size_t firstNotUtf8(std::string_view text) {
  for (std::size_t i = 0; i < text.size();) {
    const auto lead = static_cast<unsigned char>(text[i]);
    const std::size_t more = lead < 0x80                   ? 0
                             : lead >= 0xC2 && lead < 0xE0 ? 1
                             : lead >= 0xE0 && lead < 0xF0 ? 2
                             : lead >= 0xF0 && lead < 0xF5 ? 3
                                                           : text.size();
    if (more >= text.size() - i && more > 0) return i;
    for (std::size_t k = 1; k <= more; ++k)
      if ((static_cast<unsigned char>(text[i + k]) & 0xC0) != 0x80) return i;
    i += 1 + more;
  }
  return text.size();
}

constexpr std::string_view kFormulaSigns = "=+-@\t\r\n";

/// A spreadsheet would work it out as a formula. Apostrophes before it count too, so that of what a
/// person wrote himself none is lost when one is taken off.
bool looksLikeFormula(const std::string& text) {
  const std::size_t first = text.find_first_not_of('\'');
  return first != std::string::npos && kFormulaSigns.find(text[first]) != std::string_view::npos;
}

void takeMarkOff(std::string& cell) {
  if (cell.starts_with('\'') && looksLikeFormula(cell)) cell.erase(0, 1);
}

}  // namespace

std::string csvCell(const std::string& text) {
  std::string shown = looksLikeFormula(text) ? "'" + text : text;
  if (shown.find_first_of(",;\t\"\r\n") == std::string::npos) return shown;
  std::string out = "\"";
  for (const char c : shown) out += c == '"' ? "\"\"" : std::string(1, c);
  return out + "\"";
}

std::vector<CsvRow> parseCsv(std::string_view text, const std::string& file) {
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  if (const std::size_t bad = firstNotUtf8(text); bad < text.size())
    refuse(file,
           1 + static_cast<std::size_t>(
                   std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(bad), '\n')),
           "these letters are not UTF-8: save the sheet as CSV in UTF-8.");
  const char separator = separatorOf(text);
  std::vector<CsvRow> rows;
  CsvRow row{1, {""}};
  std::size_t line = 1, opened = 0;
  bool quoted = false;
  const auto endRow = [&] {
    std::for_each(row.cells.begin(), row.cells.end(), takeMarkOff);
    if (row.cells.size() > 1 || !row.cells.front().empty()) rows.push_back(row);
    row = {line, {""}};
  };
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    line += c == '\n' ? 1 : 0;
    if (quoted) {
      const bool doubled = c == '"' && i + 1 < text.size() && text[i + 1] == '"';
      if (c == '"' && !doubled) quoted = false;
      if (c != '"' || doubled) row.cells.back() += c;
      i += doubled ? 1 : 0;
    } else if (c == '"' && row.cells.back().empty()) {
      quoted = true;
      opened = line;
    } else if (c == separator) {
      row.cells.emplace_back();
    } else if (c == '\n') {
      endRow();
    } else if (c != '\r') {
      row.cells.back() += c;
    }
  }
  if (quoted) refuse(file, opened, "a quote is opened here and never closed.");
  endRow();
  return rows;
}

}  // namespace holdshelf
