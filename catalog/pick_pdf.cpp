// SPDX-License-Identifier: Apache-2.0
#include "catalog/pick_pdf.h"

#include <cairo-pdf.h>

#include <algorithm>
#include <memory>
#include <sstream>
#include <vector>

#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr double kPointsPerMm = 72 / 25.4;

cairo_status_t append(void* closure, const unsigned char* data, unsigned int length) {
  static_cast<std::string*>(closure)->append(reinterpret_cast<const char*>(data), length);
  return CAIRO_STATUS_SUCCESS;
}

/// Lines of text from the top of a sheet down, in mm, with new pages as they are needed.
class Sheet {
 public:
  Sheet(double width_mm, double height_mm, double text_mm, double margin_mm)
      : width_(width_mm),
        height_(height_mm),
        text_(text_mm),
        margin_(margin_mm),
        surface_(cairo_pdf_surface_create_for_stream(append, &bytes_, width_mm * kPointsPerMm,
                                                     height_mm * kPointsPerMm),
                 cairo_surface_destroy),
        pen_(cairo_create(surface_.get()), cairo_destroy),
        y_(margin_mm) {
    cairo_scale(pen_.get(), kPointsPerMm, kPointsPerMm);
  }

  /// Words wrapped to the sheet; `box` puts a square to tick before the first line.
  void write(const std::string& words, bool bold = false, double scale = 1, bool box = false) {
    font(bold, scale);
    const double size = text_ * scale, indent = box ? 1.8 * size : 0;
    bool first = true;
    for (const std::string& line : wrap(words, width_ - 2 * margin_ - indent)) {
      need(1.45 * size);
      font(bold, scale);
      y_ += 1.45 * size;
      if (box && first) tick(size);
      first = false;
      cairo_move_to(pen_.get(), margin_ + indent, y_);
      cairo_show_text(pen_.get(), line.c_str());
    }
  }
  void space(double lines) { y_ += lines * text_; }
  /// Starts a new page unless so many lines fit on this one.
  void keep(double lines) { need(lines * 1.45 * text_); }

  std::string finish() {
    pen_.reset();
    cairo_surface_finish(surface_.get());
    return bytes_;
  }

 private:
  void font(bool bold, double scale) {
    cairo_select_font_face(pen_.get(), "sans-serif", CAIRO_FONT_SLANT_NORMAL,
                           bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
    cairo_set_font_size(pen_.get(), text_ * scale);
  }
  double widthOf(const std::string& words) {
    cairo_text_extents_t extents;
    cairo_text_extents(pen_.get(), words.c_str(), &extents);
    return extents.x_advance;
  }
  std::vector<std::string> wrap(const std::string& words, double width) {
    std::vector<std::string> lines(1);
    std::istringstream in(words);
    for (std::string word; in >> word;) {
      const std::string longer = lines.back().empty() ? word : lines.back() + " " + word;
      if (lines.back().empty() || widthOf(longer) <= width)
        lines.back() = longer;
      else
        lines.push_back(word);
    }
    return lines;
  }
  void need(double space_mm) {
    if (y_ + space_mm <= height_ - margin_) return;
    cairo_show_page(pen_.get());
    y_ = margin_;
  }
  void tick(double size) {
    cairo_set_line_width(pen_.get(), 0.25);
    cairo_rectangle(pen_.get(), margin_ + 0.1, y_ - 0.85 * size, 0.95 * size, 0.95 * size);
    cairo_stroke(pen_.get());
  }

  std::string bytes_;
  double width_, height_, text_, margin_;
  std::unique_ptr<cairo_surface_t, void (*)(cairo_surface_t*)> surface_;
  std::unique_ptr<cairo_t, void (*)(cairo_t*)> pen_;
  double y_;
};

void writeHead(Sheet& sheet, const Climb& climb) {
  sheet.write(climb.name(), true, 1.6);
  std::string about = climb.id();
  for (const std::string& part : {climb.colour(), climb.zone(), climb.grade(), climb.setter()})
    if (!part.empty()) about += " · " + part;
  sheet.write(about);
}

void writeBins(Sheet& sheet, const PickList& list) {
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

void writeBolts(Sheet& sheet, const BoltBag& bag) {
  sheet.space(0.8);
  sheet.keep(4);
  sheet.write("Bolt bag", true, 1.25);
  for (const BoltCount& count : bag.bag())
    sheet.write(std::to_string(count.count()) + " × " + count.label(), false, 1, true);
  for (const BoltAdvice& advice : bag.bolts())
    for (const std::string& warning : advice.warnings())
      sheet.write("! " + advice.hold() + ": " + warning, false, 0.85);
  for (const std::string& warning : bag.warnings()) sheet.write("! " + warning, false, 0.85);
  sheet.space(0.5);
  for (const std::string& caution : bag.cautions()) sheet.write(caution, false, 0.8);
}

}  // namespace

std::string pickPdf(const PickList& list, const std::string& paper) {
  if (paper != "A4" && paper != "pocket")
    throw BadInput("There is no pick list for \"" + paper + "\" paper: use A4 or pocket.");
  Sheet sheet = paper == "A4" ? Sheet(210, 297, 4.2, 15) : Sheet(105, 148, 3, 6);
  writeHead(sheet, list.climb());
  writeBins(sheet, list);
  writeBolts(sheet, list.bolts());
  return sheet.finish();
}

}  // namespace holdshelf
