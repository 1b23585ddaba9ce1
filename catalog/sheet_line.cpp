// SPDX-License-Identifier: Apache-2.0
#include "catalog/sheet_line.h"

#include <algorithm>
#include <charconv>
#include <set>

#include "catalog/hold_record.h"
#include "catalog/shown_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

std::vector<std::string> split(const std::string& list) {
  return parseCsv(list, "the header").front().cells;
}

}  // namespace

const char* const kSaidColumns =
    "id,name,bin,set,maker,texture,count,colour,status,crate,zone,climb,new_note,revision";
const char* const kMeasuredColumns =
    "scanned_at,protrusion_mm,footprint_width_mm,footprint_height_mm,volume_mm3,edge_depth_mm,"
    "lip_radius_mm,incut_deg,good_for";

const std::array<SheetText, 6> kSheetTexts{{
    {"name", &Hold::name, &Edit::set_name<const std::string&>},
    {"bin", &Hold::bin, &Edit::set_bin<const std::string&>},
    {"set", &Hold::set, &Edit::set_set<const std::string&>},
    {"maker", &Hold::maker, &Edit::set_maker<const std::string&>},
    {"texture", &Hold::texture, &Edit::set_texture<const std::string&>},
    {"colour", nullptr, &Edit::set_colour<const std::string&>},
}};

std::string sheetText(const Hold& hold, const SheetText& column) {
  return column.get ? (hold.*column.get)() : hold.colour().name();
}

std::vector<std::string> sheetHeader(const CsvRow& row, const std::string& file) {
  std::vector<std::string> known = split(kSaidColumns);
  for (const std::string& column : split(kMeasuredColumns)) known.push_back(column);
  std::set<std::string> seen;
  for (const std::string& column : row.cells) {
    if (std::find(known.begin(), known.end(), column) == known.end())
      throw BadInput(file + ", line " + std::to_string(row.line) + ": there is no column \"" +
                     givenStart(column, 40) + "\": use " + kSaidColumns + ".");
    if (!seen.insert(column).second)
      throw BadInput(file + ", line " + std::to_string(row.line) + ": the column \"" + column +
                     "\" is there twice.");
  }
  return row.cells;
}

SheetLine::SheetLine(const std::vector<std::string>& header, const CsvRow& row,
                     const std::string& file)
    : file_(file), line_(row.line) {
  if (row.cells.size() > header.size())
    refuse("there are more cells than columns: put quotes around text with a separator in it.");
  for (std::size_t i = 0; i < row.cells.size(); ++i) cells_[header[i]] = row.cells[i];
}

std::string SheetLine::at(const std::string& column) const {
  const auto found = cells_.find(column);
  return found == cells_.end() ? "" : found->second;
}

std::optional<std::int64_t> SheetLine::number(const std::string& column, std::int64_t least,
                                              std::int64_t most) const {
  const std::string text = at(column);
  if (text.empty()) return std::nullopt;
  std::int64_t value = 0;
  const auto end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, value);
  if (error != std::errc() || stop != end || value < least || value > most)
    refuse(column + " \"" + givenStart(text, 40) + "\" is not a whole number from " +
           std::to_string(least) + " to " + std::to_string(most) + ".");
  return value;
}

std::optional<Status> SheetLine::status() const {
  if (at("status").empty()) return std::nullopt;
  try {
    return statusFromWord(at("status"));
  } catch (const BadInput& error) {
    refuse(error.what());
  }
}

void SheetLine::refuse(const std::string& why) const {
  throw BadInput(file_ + ", line " + std::to_string(line_) + ": " + why + " Nothing was imported.");
}

}  // namespace holdshelf
