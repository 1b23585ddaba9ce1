// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <string_view>
#include <vector>

namespace holdshelf {

/// One row of a table, with the line of the file where it begins (from 1).
struct CsvRow {
  std::size_t line = 0;
  std::vector<std::string> cells;
};

/// A cell of text as RFC 4180 writes it: quoted where it holds a comma, a quote or a line break.
/// What begins like a formula (= + - @, a tab or a break) has an apostrophe before it: a
/// spreadsheet would work it out, and it may be somebody else's words. Not for numbers.
std::string csvCell(const std::string& text);

/// Reads comma-separated text (RFC 4180) as spreadsheets write it: a byte order mark is skipped,
/// lines end in LF or CRLF, and where the first line has more semicolons or tabs than commas
/// outside quotes, those separate. Empty lines are left out, and the apostrophe of a cell that
/// would begin like a formula (csvCell) is taken off.
/// @param file  Name for messages.
/// @throws BadInput  A quote is not closed, or the text is not UTF-8; the sentence names the line.
std::vector<CsvRow> parseCsv(std::string_view text, const std::string& file);

}  // namespace holdshelf
