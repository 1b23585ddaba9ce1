// SPDX-License-Identifier: Apache-2.0
#include "catalog/pick_pdf.h"

#include "catalog/shown_text.h"
#include "mesh/bad_input.h"
#include "mesh/pdf.h"

namespace holdshelf {
namespace {

/// Lines of text from the top of a sheet down, in mm, with new sheets as they are needed.
class Column {
 public:
  Column(double width_mm, double height_mm, double text_mm, double margin_mm)
      : sheets_(width_mm, height_mm), text_(text_mm), margin_(margin_mm), y_(margin_mm) {}

  /// Words wrapped to the sheet; `box` puts a square to tick before the first line.
  void write(const std::string& words, bool bold = false, double scale = 1, bool box = false) {
    const double size = text_ * scale, indent = box ? 1.8 * size : 0;
    const double room = sheets_.width_mm() - 2 * margin_ - indent;
    bool first = true;
    for (const std::string& line : sheets_.wrap(words, room, size, bold)) {
      need(1.45 * size);
      y_ += 1.45 * size;
      if (box && first)
        sheets_.frame({margin_ + 0.1, y_ - 0.85 * size, 0.95 * size, 0.95 * size}, 0.25);
      first = false;
      sheets_.text({margin_ + indent, y_}, line, size, 0, bold);
    }
  }
  void space(double lines) { y_ += lines * text_; }
  /// Starts a new sheet unless so many lines fit on this one.
  void keep(double lines) { need(lines * 1.45 * text_); }
  std::string finish() { return sheets_.finish(); }

 private:
  void need(double space_mm) {
    if (y_ + space_mm <= sheets_.height_mm() - margin_) return;
    sheets_.newSheet();
    y_ = margin_;
  }

  PdfSheets sheets_;
  double text_, margin_, y_;
};

void writeHead(Column& sheet, const Climb& climb) {
  sheet.write(climb.name(), true, 1.6);
  std::string about = climb.id();
  for (const std::string& part : {climb.colour(), climb.zone(), climb.grade(), climb.setter()})
    if (!part.empty()) about += " · " + part;
  sheet.write(about);
}

void writeBins(Column& sheet, const PickList& list) {
  for (const PickBin& bin : list.bins()) {
    sheet.space(0.6);
    sheet.keep(3);  // A bin's name never stands alone at the foot of a page.
    sheet.write(bin.bin().empty() ? "No bin" : bin.bin(), true, 1.25);
    for (const PickLine& line : bin.lines()) {
      std::string text = line.hold() + "  " + line.name();
      if (line.count() > 1) text += " (" + std::to_string(line.count()) + " pieces)";
      if (line.foot() || !line.wish().empty()) text += " – " + (line.foot() ? "foot" : line.wish());
      sheet.write(text + " – " + (line.bolt().empty() ? "bolt: see below" : line.bolt()), false, 1,
                  true);
    }
  }
}

void writeBolts(Column& sheet, const BoltBag& bag) {
  sheet.space(0.8);
  sheet.keep(4);
  sheet.write("Bolt bag", true, 1.25);
  for (const BoltCount& count : bag.bag())
    sheet.write(std::to_string(count.count()) + " × " + count.label(), false, 1, true);
  for (const BoltAdvice& advice : bag.bolts())
    for (const std::string& warning : advice.warnings())
      sheet.write("! " + advice.hold() + ": " + warning, false, 0.85);
  for (const BoltAdvice& advice : bag.bolts())
    for (const std::string& note : advice.notes())
      sheet.write(advice.hold() + ": " + note, false, 0.85);
  for (const std::string& warning : bag.warnings()) sheet.write("! " + warning, false, 0.85);
  sheet.space(0.5);
  for (const std::string& caution : bag.cautions()) sheet.write(caution, false, 0.8);
}

}  // namespace

std::string pickPdf(const PickList& list, const std::string& paper) {
  if (paper != "A4" && paper != "pocket")
    throw BadInput("There is no pick list for \"" + givenStart(paper, 40) +
                   "\" paper: use A4 or pocket.");
  Column sheet = paper == "A4" ? Column(210, 297, 4.2, 15) : Column(105, 148, 3, 6);
  writeHead(sheet, list.climb());
  writeBins(sheet, list);
  writeBolts(sheet, list.bolts());
  return sheet.finish();
}

}  // namespace holdshelf
