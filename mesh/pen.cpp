// SPDX-License-Identifier: Apache-2.0
#include "mesh/pen.h"

#include <cairo-svg.h>

#include <cstdio>

#include "mesh/raster_image.h"

namespace holdshelf {
namespace {

using Eigen::Vector2d;

cairo_status_t append(void* closure, const unsigned char* data, unsigned int length) {
  static_cast<std::string*>(closure)->append(reinterpret_cast<const char*>(data), length);
  return CAIRO_STATUS_SUCCESS;
}

}  // namespace

Pen::Pen(cairo_t* c) : c_(c) {
  cairo_select_font_face(c_, "DejaVu Sans", CAIRO_FONT_SLANT_NORMAL, CAIRO_FONT_WEIGHT_NORMAL);
}

void Pen::grey(double g) { cairo_set_source_rgb(c_, g, g, g); }

void Pen::line(const Vector2d& a, const Vector2d& b, double width, bool dashed) {
  const double dash[] = {5, 4};
  cairo_set_dash(c_, dash, dashed ? 2 : 0, 0);
  cairo_set_line_width(c_, width);
  cairo_move_to(c_, a.x(), a.y());
  cairo_line_to(c_, b.x(), b.y());
  cairo_stroke(c_);
  cairo_set_dash(c_, dash, 0, 0);
}

void Pen::path(const std::vector<Vector2d>& points, bool close) {
  for (std::size_t i = 0; i < points.size(); ++i)
    (i == 0 ? cairo_move_to : cairo_line_to)(c_, points[i].x(), points[i].y());
  if (close) cairo_close_path(c_);
}

void Pen::fill(double red, double green, double blue) {
  cairo_set_source_rgb(c_, red, green, blue);
  cairo_fill(c_);
  grey(0);
}

void Pen::circle(const Vector2d& centre, double radius, double width) {
  cairo_new_path(c_);
  cairo_set_line_width(c_, width);
  cairo_arc(c_, centre.x(), centre.y(), radius, 0, 2 * M_PI);
  cairo_stroke(c_);
}

void Pen::arrow(const Vector2d& from, const Vector2d& to, double width) {
  line(from, to, width);
  const Vector2d way = (from - to).normalized(), side(-way.y(), way.x());
  path({to, to + 8 * way + 3 * side, to + 8 * way - 3 * side}, true);
  cairo_fill(c_);
}

void Pen::dimension(const Vector2d& a, const Vector2d& b, const std::string& words) {
  const Vector2d middle = 0.5 * (a + b);
  arrow(middle, a, 1.2);
  arrow(middle, b, 1.2);
  const bool upright = std::abs(b.y() - a.y()) > std::abs(b.x() - a.x());
  text(middle + (upright ? Vector2d(6, 4) : Vector2d(0, -7)), words, 13, upright ? 0 : 0.5);
}

void Pen::text(const Vector2d& at, const std::string& words, double size, double anchor,
               bool bold) {
  cairo_select_font_face(c_, "DejaVu Sans", CAIRO_FONT_SLANT_NORMAL,
                         bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
  cairo_set_font_size(c_, size);
  cairo_text_extents_t extents;
  cairo_text_extents(c_, words.c_str(), &extents);
  const Vector2d p(at.x() - anchor * extents.x_advance, at.y());
  // A white border keeps words legible on lines.
  cairo_move_to(c_, p.x(), p.y());
  cairo_text_path(c_, words.c_str());
  cairo_save(c_);
  cairo_set_source_rgb(c_, 1, 1, 1);
  cairo_set_line_width(c_, 3);
  cairo_stroke(c_);
  cairo_restore(c_);
  cairo_move_to(c_, p.x(), p.y());
  cairo_show_text(c_, words.c_str());
}

void Pen::image(const RasterImage& picture, const Vector2d& at, double pixels_per_unit) {
  cairo_surface_t* surface =
      cairo_image_surface_create(CAIRO_FORMAT_RGB24, picture.width_px, picture.height_px);
  unsigned char* data = cairo_image_surface_get_data(surface);
  const int stride = cairo_image_surface_get_stride(surface);
  for (int y = 0; y < picture.height_px; ++y)
    for (int x = 0; x < picture.width_px; ++x) {
      const std::uint8_t* p = &picture.rgb[3 * static_cast<std::size_t>(y * picture.width_px + x)];
      reinterpret_cast<std::uint32_t*>(data + y * stride)[x] =
          static_cast<std::uint32_t>(p[0]) << 16 | static_cast<std::uint32_t>(p[1]) << 8 | p[2];
    }
  cairo_surface_mark_dirty(surface);
  cairo_save(c_);
  cairo_translate(c_, at.x(), at.y());
  cairo_scale(c_, 1 / pixels_per_unit, 1 / pixels_per_unit);
  cairo_set_source_surface(c_, surface, 0, 0);
  cairo_paint(c_);
  cairo_restore(c_);
  cairo_surface_destroy(surface);
  grey(0);
}

void Pen::scaleBar(const Vector2d& right, double units_per_mm, double mm) {
  const Vector2d left = right - Vector2d(units_per_mm * mm, 0);
  line(left, right, 2.5);
  for (const Vector2d& end : {left, right}) line(end - Vector2d(0, 4), end + Vector2d(0, 4), 1.5);
  text(0.5 * (left + right) - Vector2d(0, 8), fixed(mm, 0) + " mm", 12, 0.5);
}

Plot drawPlot(int width, int height, const std::function<void(Pen&)>& draw) {
  Plot plot;
  const auto on = [&](cairo_surface_t* surface, double scale) {
    cairo_t* c = cairo_create(surface);
    cairo_scale(c, scale, scale);
    cairo_set_source_rgb(c, 1, 1, 1);
    cairo_paint(c);
    Pen pen(c);
    pen.grey(0);
    draw(pen);
    cairo_destroy(c);
  };
  cairo_surface_t* svg = cairo_svg_surface_create_for_stream(append, &plot.svg, width, height);
  on(svg, 1);
  cairo_surface_destroy(svg);
  cairo_surface_t* image = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 2 * width, 2 * height);
  on(image, 2);
  cairo_surface_write_to_png_stream(image, append, &plot.png);
  cairo_surface_destroy(image);
  return plot;
}

std::string fixed(double value, int decimals) {
  char text[48];
  std::snprintf(text, sizeof text, "%.*f", decimals, value);
  return text;
}

std::string withSigma(const Measured& m, const std::string& unit) {
  const int decimals = m.sigma() < 0.095 ? 2 : m.sigma() < 0.95 ? 1 : 0;
  return fixed(m.value(), decimals) + " ± " + fixed(m.sigma(), decimals) + unit;
}

}  // namespace holdshelf
