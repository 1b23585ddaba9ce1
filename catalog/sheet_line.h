// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "catalog/csv.h"
#include "proto/event.pb.h"
#include "proto/hold.pb.h"

namespace holdshelf {

/// The columns of a sheet of holds: what a person says, and what was measured.
extern const char* const kSaidColumns;
extern const char* const kMeasuredColumns;

/// A column that is text in the sheet, the record and the edit alike.
struct SheetText {
  const char* name;
  const std::string& (Hold::*get)() const;  ///< nullptr: the colour's name.
  void (Edit::*set)(const std::string&);
};
extern const std::array<SheetText, 6> kSheetTexts;  ///< In the sheet's order.
std::string sheetText(const Hold& hold, const SheetText& column);

/// The header's columns. @throws BadInput  One is unknown or there twice.
std::vector<std::string> sheetHeader(const CsvRow& row, const std::string& file);

/// One line of a sheet, cells by column.
class SheetLine {
 public:
  /// @param file  Name of the sheet, for refusals; outlives the line.
  /// @throws BadInput  There are more cells than columns.
  SheetLine(const std::vector<std::string>& header, const CsvRow& row, const std::string& file);

  bool has(const std::string& column) const { return cells_.count(column) != 0; }
  /// Empty where the sheet has no such column or the line ends before it.
  std::string at(const std::string& column) const;
  /// nullopt for an empty or missing cell. @throws BadInput  No whole number in the range.
  std::optional<std::int64_t> number(const std::string& column, std::int64_t least,
                                     std::int64_t most) const;
  /// nullopt for an empty or missing cell. @throws BadInput  No status.
  std::optional<Status> status() const;
  /// @throws BadInput  Always: file, line, why, and that nothing was imported.
  [[noreturn]] void refuse(const std::string& why) const;

 private:
  const std::string& file_;
  std::size_t line_;
  std::map<std::string, std::string> cells_;
};

}  // namespace holdshelf
