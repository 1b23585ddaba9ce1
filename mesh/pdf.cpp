// SPDX-License-Identifier: Apache-2.0
#include "mesh/pdf.h"

#include <cairo-pdf.h>

#define POINTERHOLDER_TRANSITION 4  // No qpdf 10 pointers.
#include <qpdf/QPDF.hh>
#include <qpdf/QPDFWriter.hh>
#include <sstream>
#include <stdexcept>

namespace holdshelf {
namespace {

constexpr double kPointsPerMm = 72 / 25.4;

cairo_status_t append(void* closure, const unsigned char* data, unsigned int length) {
  static_cast<std::string*>(closure)->append(reinterpret_cast<const char*>(data), length);
  return CAIRO_STATUS_SUCCESS;
}

/// What cairo cannot say: no scaling at the printer, and no date, so that bytes repeat.
std::string withPrintSettings(const std::string& drawn) {
  QPDF file;
  file.processMemoryFile("drawing", drawn.data(), drawn.size());
  file.getRoot().replaceKey("/ViewerPreferences",
                            QPDFObjectHandle::parse("<< /PrintScaling /None >>"));
  file.getTrailer().removeKey("/Info");
  QPDFWriter writer(file);
  writer.setOutputMemory();
  writer.setDeterministicID(true);
  writer.write();
  const std::shared_ptr<Buffer> bytes = writer.getBufferSharedPointer();
  return {reinterpret_cast<const char*>(bytes->getBuffer()), bytes->getSize()};
}

}  // namespace

struct PdfSheets::Cairo {
  std::string bytes;
  double width_mm, height_mm;
  cairo_surface_t* surface;
  cairo_t* pen;

  Cairo(double width, double height)
      : width_mm(width),
        height_mm(height),
        surface(cairo_pdf_surface_create_for_stream(append, &bytes, width * kPointsPerMm,
                                                    height * kPointsPerMm)),
        pen(cairo_create(surface)) {
    cairo_scale(pen, kPointsPerMm, kPointsPerMm);
  }
  ~Cairo() {
    cairo_destroy(pen);
    cairo_surface_destroy(surface);
  }
  Cairo(const Cairo&) = delete;
  Cairo& operator=(const Cairo&) = delete;

  void font(double size_mm, bool bold) {
    cairo_select_font_face(pen, "sans-serif", CAIRO_FONT_SLANT_NORMAL,
                           bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
    cairo_set_font_size(pen, size_mm);
  }
};

PdfSheets::PdfSheets(double width_mm, double height_mm) {
  if (!(width_mm > 0 && height_mm > 0))
    throw std::invalid_argument("PdfSheets: a sheet needs a positive size");
  cairo_ = std::make_unique<Cairo>(width_mm, height_mm);
}
PdfSheets::~PdfSheets() = default;
PdfSheets::PdfSheets(PdfSheets&&) noexcept = default;
PdfSheets& PdfSheets::operator=(PdfSheets&&) noexcept = default;

double PdfSheets::width_mm() const { return cairo_->width_mm; }
double PdfSheets::height_mm() const { return cairo_->height_mm; }
void PdfSheets::newSheet() { cairo_show_page(cairo_->pen); }

void PdfSheets::line(const Eigen::Vector2d& from_mm, const Eigen::Vector2d& to_mm,
                     double thickness_mm) {
  cairo_set_line_width(cairo_->pen, thickness_mm);
  cairo_move_to(cairo_->pen, from_mm.x(), from_mm.y());
  cairo_line_to(cairo_->pen, to_mm.x(), to_mm.y());
  cairo_stroke(cairo_->pen);
}

void PdfSheets::frame(const PdfBox& box, double thickness_mm) {
  cairo_set_line_width(cairo_->pen, thickness_mm);
  cairo_rectangle(cairo_->pen, box.left_mm, box.top_mm, box.width_mm, box.height_mm);
  cairo_stroke(cairo_->pen);
}

void PdfSheets::fill(const std::vector<PdfBox>& boxes, double grey) {
  for (const PdfBox& box : boxes)
    cairo_rectangle(cairo_->pen, box.left_mm, box.top_mm, box.width_mm, box.height_mm);
  cairo_set_source_rgb(cairo_->pen, grey, grey, grey);
  cairo_fill(cairo_->pen);
  cairo_set_source_rgb(cairo_->pen, 0, 0, 0);
}

void PdfSheets::polygon(const std::vector<Eigen::Vector2d>& corners_mm,
                        const Eigen::Vector3d& rgb) {
  for (const Eigen::Vector2d& corner : corners_mm)
    cairo_line_to(cairo_->pen, corner.x(), corner.y());
  cairo_close_path(cairo_->pen);
  cairo_set_source_rgb(cairo_->pen, rgb.x(), rgb.y(), rgb.z());
  cairo_fill(cairo_->pen);
  cairo_set_source_rgb(cairo_->pen, 0, 0, 0);
}

void PdfSheets::ellipse(const Eigen::Vector2d& centre_mm, double half_width_mm,
                        double half_height_mm) {
  cairo_save(cairo_->pen);
  cairo_translate(cairo_->pen, centre_mm.x(), centre_mm.y());
  cairo_scale(cairo_->pen, half_width_mm, half_height_mm);
  // Cairo bends a small circle in as few pieces as 0.1 points allow: 0.3 degrees of a ring's mark.
  cairo_set_tolerance(cairo_->pen, 1e-4);
  cairo_arc(cairo_->pen, 0, 0, 1, 0, 2 * M_PI);
  cairo_restore(cairo_->pen);
  cairo_fill(cairo_->pen);
}

void PdfSheets::image(const PdfBox& box, const RasterImage& picture) {
  cairo_surface_t* pixels =
      cairo_image_surface_create(CAIRO_FORMAT_RGB24, picture.width_px, picture.height_px);
  unsigned char* to = cairo_image_surface_get_data(pixels);
  const int stride = cairo_image_surface_get_stride(pixels);
  for (int y = 0; y < picture.height_px; ++y)
    for (int x = 0; x < picture.width_px; ++x) {
      const auto* rgb = &picture.rgb[3 * (std::size_t(y) * std::size_t(picture.width_px) + x)];
      const std::uint32_t word = std::uint32_t(rgb[0] << 16 | rgb[1] << 8 | rgb[2]);
      reinterpret_cast<std::uint32_t*>(to + std::ptrdiff_t(y) * stride)[x] = word;
    }
  cairo_surface_mark_dirty(pixels);
  cairo_save(cairo_->pen);
  cairo_translate(cairo_->pen, box.left_mm, box.top_mm);
  cairo_scale(cairo_->pen, box.width_mm / picture.width_px, box.height_mm / picture.height_px);
  cairo_set_source_surface(cairo_->pen, pixels, 0, 0);
  cairo_paint(cairo_->pen);
  cairo_restore(cairo_->pen);
  cairo_surface_destroy(pixels);
}

void PdfSheets::text(const Eigen::Vector2d& at_mm, const std::string& words, double size_mm,
                     double anchor, bool bold) {
  const double shift = anchor == 0 ? 0 : anchor * textWidth_mm(words, size_mm, bold);
  cairo_->font(size_mm, bold);
  cairo_move_to(cairo_->pen, at_mm.x() - shift, at_mm.y());
  cairo_show_text(cairo_->pen, words.c_str());
  cairo_new_path(cairo_->pen);
}

double PdfSheets::textWidth_mm(const std::string& words, double size_mm, bool bold) {
  cairo_->font(size_mm, bold);
  cairo_text_extents_t extents;
  cairo_text_extents(cairo_->pen, words.c_str(), &extents);
  return extents.x_advance;
}

std::vector<std::string> PdfSheets::wrap(const std::string& words, double width_mm, double size_mm,
                                         bool bold) {
  std::vector<std::string> lines(1);
  std::istringstream in(words);
  for (std::string word; in >> word;) {
    const std::string longer = lines.back().empty() ? word : lines.back() + " " + word;
    if (lines.back().empty() || textWidth_mm(longer, size_mm, bold) <= width_mm)
      lines.back() = longer;
    else
      lines.push_back(word);
  }
  return lines;
}

std::string PdfSheets::finish() {
  cairo_surface_finish(cairo_->surface);
  if (const cairo_status_t status = cairo_surface_status(cairo_->surface))
    throw std::runtime_error(std::string("PDF: ") + cairo_status_to_string(status));
  return withPrintSettings(cairo_->bytes);
}

}  // namespace holdshelf
