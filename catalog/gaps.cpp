// SPDX-License-Identifier: Apache-2.0
#include "catalog/gaps.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <map>

#include "catalog/colour.h"
#include "catalog/csv.h"
#include "catalog/hold_record.h"
#include "catalog/measured_text.h"
#include "catalog/shown_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr std::array<const char*, 6> kColumns = {"colour",  "grip", "size",
                                                 "profile", "want", "most"};
const std::map<std::string, std::vector<std::string>> kWords = {
    {"colour",
     {"black", "white", "grey", "red", "orange", "yellow", "green", "blue", "purple", "pink",
      "brown", "none"}},
    {"grip",
     {"jug", "edge", "crimp", "pocket", "sloper", "pinch", "foot-only", "volume or feature",
      "none"}},
    {"size", {"small", "medium", "large", "huge", "none"}},
    {"profile", {"low", "middle", "high", "none"}}};

std::string listed(const std::vector<std::string>& words) {
  std::string text;
  for (const std::string& word : words) text += (text.empty() ? "" : ", ") + word;
  return text;
}

std::int64_t countFrom(const std::string& text, const std::string& column,
                       const std::string& where) {
  std::int64_t value = 0;
  const auto end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, value);
  if (error != std::errc() || stop != end || value < 0)
    throw BadInput(where + column + " \"" + givenStart(text, 40) +
                   "\" is not a whole number of pieces.");
  return value;
}

void setCell(const std::string& column, const std::string& cell, const std::string& where,
             StockLine& line) {
  if (column == "want" || column == "most") {
    if (cell.empty()) return;
    column == "want" ? line.set_want(countFrom(cell, column, where))
                     : line.set_most(countFrom(cell, column, where));
    return;
  }
  const std::string word = cell.empty() ? "*" : cell;
  const auto& known = kWords.at(column);
  if (word != "*" && std::find(known.begin(), known.end(), word) == known.end())
    throw BadInput(where + "\"" + givenStart(word, 40) + "\" is not a " + column +
                   ": use * or one of " + listed(known) + ".");
  if (column == "colour") line.set_colour(word);
  if (column == "grip") line.set_grip(word);
  if (column == "size") line.set_size(word);
  if (column == "profile") line.set_profile(word);
}

bool fits(const StockLine& target, const StockLine& kind) {
  const auto same = [](const std::string& want, const std::string& is) {
    return want == "*" || want == is;
  };
  return same(target.colour(), kind.colour()) && same(target.grip(), kind.grip()) &&
         same(target.size(), kind.size()) && same(target.profile(), kind.profile());
}

std::string verdictOf(const StockLine& line) {
  if (!line.has_want()) return "";
  if (line.pieces() < line.want()) return "thin";
  if (line.pieces() > 0 && 2 * line.worn() >= line.pieces()) return "mostly worn";
  const std::int64_t most = line.has_most() ? line.most() : 2 * line.want();
  return line.pieces() > most ? "over-stocked" : "as wished";
}

double shareOf(const StockLine& line) {
  return line.want() > 0 ? static_cast<double>(line.pieces()) / static_cast<double>(line.want())
                         : 1e9;
}

}  // namespace

StockLine kindOf(const Hold& hold, const StockBounds& bounds) {
  StockLine kind;
  const std::string term = basicTerm(hold.colour().name());
  kind.set_colour(term.empty() ? "none" : term);
  kind.set_grip(hold.words().empty() ? "none" : hold.words(0).word());
  kind.set_size("none");
  kind.set_profile("none");
  if (const Scan* scan = currentScan(hold)) {
    const double size = scan->shape().longest_extent_mm().value();
    const double out = scan->shape().protrusion_mm().value();
    kind.set_size(size < bounds.small_mm    ? "small"
                  : size < bounds.medium_mm ? "medium"
                  : size < bounds.large_mm  ? "large"
                                            : "huge");
    kind.set_profile(out < bounds.low_mm ? "low" : out < bounds.middle_mm ? "middle" : "high");
  }
  return kind;
}

std::vector<StockLine> parseTargets(const std::string& csv, const std::string& file) {
  const auto rows = parseCsv(csv, file);
  if (rows.empty())
    throw BadInput(file + " is empty: write one with holdshelf gaps --write-targets.");
  const std::vector<std::string>& header = rows.front().cells;
  for (const std::string& column : header)
    if (std::find(kColumns.begin(), kColumns.end(), column) == kColumns.end())
      throw BadInput(file + ", line 1: there is no column \"" + givenStart(column, 40) +
                     "\": use colour,grip,size,profile,want,most.");
  std::vector<StockLine> targets;
  for (std::size_t i = 1; i < rows.size(); ++i) {
    const std::string where = file + ", line " + std::to_string(rows[i].line) + ": ";
    if (rows[i].cells.size() > header.size())
      throw BadInput(where + "there are more cells than columns.");
    StockLine line;
    for (const char* column : {"colour", "grip", "size", "profile"}) setCell(column, "", "", line);
    for (std::size_t c = 0; c < rows[i].cells.size(); ++c)
      setCell(header[c], rows[i].cells[c], where, line);
    if (!line.has_want()) throw BadInput(where + "want is missing: how many pieces at least?");
    if (line.has_most() && line.most() < line.want())
      throw BadInput(where + "most is less than want.");
    targets.push_back(line);
  }
  return targets;
}

std::string targetsCsv(const StockReport& report) {
  std::string text = "colour,grip,size,profile,want,most\r\n";
  for (const StockLine& line : report.lines())
    text += csvCell(line.colour()) + "," + csvCell(line.grip()) + "," + csvCell(line.size()) + "," +
            csvCell(line.profile()) + "," +
            std::to_string(line.has_want() ? line.want() : line.pieces()) + "," +
            (line.has_most() ? std::to_string(line.most()) : "") + "\r\n";
  return text;
}

StockReport stockOf(const Library& library, const std::vector<StockLine>& targets,
                    const std::function<bool(const Hold&)>& worn, const StockBounds& bounds,
                    const std::function<bool(const Hold&)>& counts, const Progress& progress) {
  StockReport report;
  std::map<std::string, StockLine> kinds;
  library.forEachHold([&](std::int64_t, const Hold& hold) {
    if (progress && !progress("counting pieces", 0)) throw Interrupted();
    if (hold.status() == RETIRED || (counts && !counts(hold))) return;
    StockLine kind = kindOf(hold, bounds);
    StockLine& line =
        kinds[kind.colour() + "/" + kind.grip() + "/" + kind.size() + "/" + kind.profile()];
    const std::int64_t pieces = std::max(1, hold.count());
    kind.set_pieces(line.pieces() + pieces);
    kind.set_on_shelf(line.on_shelf() + (hold.status() == SHELF ? pieces : 0));
    const bool bad = hold.status() == NEEDS_LOOK || (worn && worn(hold));
    kind.set_worn(line.worn() + (bad ? pieces : 0));
    line = kind;
    report.set_holds(report.holds() + 1);
    report.set_pieces(report.pieces() + pieces);
  });
  for (const StockLine& target : targets) {
    StockLine line = target;
    for (const auto& [name, kind] : kinds) {
      if (!fits(target, kind)) continue;
      line.set_pieces(line.pieces() + kind.pieces());
      line.set_on_shelf(line.on_shelf() + kind.on_shelf());
      line.set_worn(line.worn() + kind.worn());
    }
    line.set_verdict(verdictOf(line));
    *report.add_lines() = line;
  }
  if (targets.empty())
    for (const auto& [name, kind] : kinds) *report.add_lines() = kind;
  std::stable_sort(report.mutable_lines()->begin(), report.mutable_lines()->end(),
                   [](const StockLine& x, const StockLine& y) {
                     return x.has_want() && y.has_want() && shareOf(x) < shareOf(y);
                   });
  return report;
}

std::string stockText(const StockReport& report) {
  std::vector<std::vector<std::string>> rows = {
      {"colour", "grip", "size", "profile", "pieces", "on shelf", "worn", "want", ""}};
  for (const StockLine& line : report.lines())
    rows.push_back({line.colour(), line.grip(), line.size(), line.profile(),
                    std::to_string(line.pieces()), std::to_string(line.on_shelf()),
                    std::to_string(line.worn()), line.has_want() ? std::to_string(line.want()) : "",
                    line.verdict()});
  return tableText(rows) + std::to_string(report.pieces()) + " pieces in " +
         std::to_string(report.holds()) + " records, retired ones left out.\n";
}

}  // namespace holdshelf
