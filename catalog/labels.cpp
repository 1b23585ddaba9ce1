// SPDX-License-Identifier: Apache-2.0
#include "catalog/labels.h"

#include <algorithm>
#include <cctype>
#include <charconv>
#include <set>

#include "catalog/hold_record.h"
#include "catalog/measured_text.h"
#include "catalog/qr_code.h"
#include "mesh/bad_input.h"
#include "mesh/pdf.h"

namespace holdshelf {
namespace {

constexpr double kFinestModule_mm = 0.25, kCoarsestModule_mm = 1.2;
constexpr double kMargin_mm = 2;  // Printers shift by as much.

/// A grid that stands in the middle of an A4 sheet, with gaps between its labels.
LabelSheet onA4(int columns, int rows, double width, double height, double gap_x, double gap_y) {
  const double step_x = width + gap_x, step_y = height + gap_y;
  return {"A4-" + std::to_string(columns * rows),
          210,
          297,
          columns,
          rows,
          width,
          height,
          (210 - columns * step_x + gap_x) / 2,
          (297 - rows * step_y + gap_y) / 2,
          step_x,
          step_y};
}

LabelSheet roll(double width, double height) {
  return {decimalText(width, 0) + "x" + decimalText(height, 0),
          width,
          height,
          1,
          1,
          width,
          height,
          0,
          0,
          width,
          height};
}

std::string escaped(const std::string& text) {
  constexpr const char* kDigits = "0123456789ABCDEF";
  std::string out;
  for (const unsigned char c : text)
    if (std::isalnum(c) != 0 || c == '-' || c == '_' || c == '.')
      out += static_cast<char>(c);
    else
      (out += '%', out += kDigits[c >> 4], out += kDigits[c & 15]);
  return out;
}

std::string wordsOf(const Hold& hold) {
  std::vector<std::string> said;
  for (const GripWord& word : hold.words())
    if (std::find(said.begin(), said.end(), word.word()) == said.end()) said.push_back(word.word());
  std::string text;
  for (const std::string& word : said) text += (text.empty() ? "" : ", ") + word;
  return text;
}

/// Draws one label into its place.
void draw(PdfSheets& pdf, const Label& label, const PdfBox& place) {
  const QrCode code = qrCode(label.url);
  const double height = place.height_mm - 2 * kMargin_mm, width = place.width_mm - 2 * kMargin_mm;
  const int modules = code.width + 2 * kQrQuiet;
  const double side = std::min({height, 0.45 * width, kCoarsestModule_mm * modules});
  const double module = side / modules;
  if (module < kFinestModule_mm)
    throw BadInput("The code of " + label.title + " would be too fine on this label (" +
                   decimalText(module, 2) + " mm a dot): take larger labels or a shorter address.");
  const double left = place.left_mm + kMargin_mm, top = place.top_mm + kMargin_mm;
  const double code_top = top + (height - side) / 2;
  std::vector<PdfBox> dots;
  for (int y = 0; y < code.width; ++y)
    for (int x = 0; x < code.width; ++x)
      if (code.at(x, y))
        dots.push_back(
            {left + (x + kQrQuiet) * module, code_top + (y + kQrQuiet) * module, module, module});
  pdf.fill(dots);
  const double text_left = left + side + 0.5, room = width - side - 0.5;
  double title = std::min(0.34 * height, 9.0);
  const double wide = pdf.textWidth_mm(label.title, title, true);
  if (wide > room) title *= room / wide;
  double y = top + 0.85 * title;
  pdf.text({text_left, y}, label.title, title, 0, true);
  const double size = std::clamp(0.115 * height, 1.9, 3.4);
  for (const std::string& words : label.lines) {
    const std::vector<std::string> lines = pdf.wrap(words, room, size);
    // Half of what is said could be read as all of it.
    if (y + 1.3 * size * static_cast<double>(lines.size()) > top + height) continue;
    for (const std::string& line : lines) {
      y += 1.3 * size;
      std::string shown = line;
      while (shown.size() > 1 && pdf.textWidth_mm(shown, size) > room) {
        // One word that is too long: its end goes, never half a letter.
        do shown.pop_back();
        while (!shown.empty() && (static_cast<unsigned char>(shown.back()) & 0xC0) == 0x80);
      }
      pdf.text({text_left, y}, shown, size);
    }
  }
}

}  // namespace

const std::vector<LabelSheet>& labelSheets() {
  static const std::vector<LabelSheet> sheets = {onA4(3, 7, 63.5, 38.1, 2.5, 0),
                                                 onA4(3, 8, 70, 37, 0, 0),
                                                 onA4(2, 4, 99.1, 67.7, 2.5, 0),
                                                 onA4(2, 6, 99.1, 42.3, 2.5, 0),
                                                 onA4(5, 13, 38.1, 21.2, 2.5, 0),
                                                 roll(62, 29),
                                                 roll(62, 40),
                                                 roll(62, 100),
                                                 roll(50, 30),
                                                 roll(38, 25)};
  return sheets;
}

LabelSheet labelSheet(const std::string& name) {
  for (const LabelSheet& sheet : labelSheets())
    if (sheet.name == name) return sheet;
  const std::size_t cross = std::min(name.find('x'), name.size());
  double width = 0, height = 0;
  const char *begin = name.data(), *end = begin + name.size();
  const auto first = std::from_chars(begin, begin + cross, width);
  const auto second = std::from_chars(std::min(begin + cross + 1, end), end, height);
  const bool numbers = first.ec == std::errc{} && first.ptr == begin + cross &&
                       second.ec == std::errc{} && second.ptr == end;
  if (!numbers || !(width >= 20 && width <= 210 && height >= 12 && height <= 297)) {
    std::string known;
    for (const LabelSheet& sheet : labelSheets()) known += sheet.name + ", ";
    throw BadInput("\"" + name.substr(0, 40) + "\" is no label sheet: use " + known +
                   "or a label's WIDTHxHEIGHT in mm, 20x12 to 210x297.");
  }
  LabelSheet sheet = roll(width, height);
  sheet.name = name;
  return sheet;
}

std::string holdUrl(const std::string& page, const std::string& id) {
  return page + "#/hold/" + escaped(id);
}

std::string binUrl(const std::string& page, const std::string& bin) {
  return page + "#/shelf?bin=" + escaped(bin);
}

Label holdLabel(const Hold& hold, const std::string& page) {
  Label label{holdUrl(page, hold.id()), hold.id(), {}};
  std::string name = hold.name();
  if (!hold.bin().empty()) name += (name.empty() ? "bin " : ", bin ") + hold.bin();
  if (!name.empty()) label.lines.push_back(name);
  if (const std::string words = wordsOf(hold); !words.empty()) label.lines.push_back(words);
  if (const Scan* scan = currentScan(hold)) {
    const Shape& shape = scan->shape();
    label.lines.push_back(decimalText(shape.footprint_width_mm().value(), 0) + " × " +
                          decimalText(shape.footprint_height_mm().value(), 0) + " mm, " +
                          decimalText(shape.protrusion_mm().value(), 0) + " mm out");
    for (const BoltSeat& seat : shape.bolt_seats())
      if (!seat.screw()) {
        label.lines.push_back(
            "bolt seat " + decimalText(seat.seat_height_mm().value(), 0) + " mm" +
            (seat.has_bore_mm() ? ", bore " + decimalText(seat.bore_mm().value(), 1) + " mm" : ""));
        break;
      }
  }
  if (!hold.colour().name().empty()) label.lines.push_back(hold.colour().name());
  if (hold.count() > 1) label.lines.push_back(std::to_string(hold.count()) + " pieces");
  if (!hold.words().empty()) label.lines.push_back(hold.words(0).reason());
  return label;
}

Label binLabel(const std::string& bin, const std::vector<Hold>& holds, const std::string& page) {
  Label label{binUrl(page, bin), bin, {}};
  int pieces = 0;
  std::string ids;
  for (const Hold& hold : holds) {
    if (hold.bin() != bin || hold.status() == RETIRED) continue;
    pieces += std::max(1, hold.count());
    ids += (ids.empty() ? "" : ", ") + hold.id();
  }
  label.lines.push_back(std::to_string(pieces) + (pieces == 1 ? " piece" : " pieces"));
  if (!ids.empty()) label.lines.push_back(ids);
  return label;
}

std::string labelsPdf(const std::vector<Label>& labels, const LabelSheet& sheet, int skip) {
  if (labels.empty()) throw BadInput("There is nothing to put on labels: name holds or bins.");
  const int places = sheet.columns * sheet.rows;
  if (skip < 0 || skip >= places)
    throw BadInput("The sheet has " + std::to_string(places) +
                   " labels: fewer than that can be used up.");
  PdfSheets pdf(sheet.width_mm, sheet.height_mm);
  int place = skip;
  for (const Label& label : labels) {
    if (place == places) {
      pdf.newSheet();
      place = 0;
    }
    const int row = place / sheet.columns, column = place % sheet.columns;
    draw(pdf, label,
         {sheet.left_mm + column * sheet.step_x_mm, sheet.top_mm + row * sheet.step_y_mm,
          sheet.label_width_mm, sheet.label_height_mm});
    ++place;
  }
  return pdf.finish();
}

}  // namespace holdshelf
