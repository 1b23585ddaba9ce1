// SPDX-License-Identifier: Apache-2.0
#include "mesh/plot.h"

#include <cairo-svg.h>
#include <cairo.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <functional>

#include "mesh/bad_input.h"
#include "mesh/grip_map.h"
#include "mesh/mesh_io.h"
#include "mesh/raster.h"
#include "mesh/slope_map.h"

namespace holdshelf {
namespace {

using Eigen::Vector2d;

cairo_status_t append(void* closure, const unsigned char* data, unsigned int length) {
  static_cast<std::string*>(closure)->append(reinterpret_cast<const char*>(data), length);
  return CAIRO_STATUS_SUCCESS;
}

/// Drawing in the picture's own units (y down), with what every plot here needs.
class Pen {
 public:
  explicit Pen(cairo_t* c) : c_(c) {
    cairo_select_font_face(c_, "DejaVu Sans", CAIRO_FONT_SLANT_NORMAL, CAIRO_FONT_WEIGHT_NORMAL);
  }
  cairo_t* raw() { return c_; }

  void grey(double g) { cairo_set_source_rgb(c_, g, g, g); }
  void line(const Vector2d& a, const Vector2d& b, double width = 1, bool dashed = false) {
    const double dash[] = {5, 4};
    cairo_set_dash(c_, dash, dashed ? 2 : 0, 0);
    cairo_set_line_width(c_, width);
    cairo_move_to(c_, a.x(), a.y());
    cairo_line_to(c_, b.x(), b.y());
    cairo_stroke(c_);
    cairo_set_dash(c_, dash, 0, 0);
  }
  void path(const std::vector<Vector2d>& points, bool close) {
    for (std::size_t i = 0; i < points.size(); ++i)
      (i == 0 ? cairo_move_to : cairo_line_to)(c_, points[i].x(), points[i].y());
    if (close) cairo_close_path(c_);
  }
  void circle(const Vector2d& centre, double radius, double width) {
    cairo_new_path(c_);
    cairo_set_line_width(c_, width);
    cairo_arc(c_, centre.x(), centre.y(), radius, 0, 2 * M_PI);
    cairo_stroke(c_);
  }
  void arrow(const Vector2d& from, const Vector2d& to, double width = 1) {
    line(from, to, width);
    const Vector2d way = (from - to).normalized(), side(-way.y(), way.x());
    path({to, to + 8 * way + 3 * side, to + 8 * way - 3 * side}, true);
    cairo_fill(c_);
  }
  /// @param anchor  0 left, 0.5 centre, 1 right of the place.
  void text(const Vector2d& at, const std::string& words, double size = 13, double anchor = 0,
            bool bold = false) {
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

 private:
  cairo_t* c_;
};

Plot drawn(int width, int height, const std::function<void(Pen&)>& draw) {
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

std::string number(double value, int decimals) {
  char text[48];
  std::snprintf(text, sizeof text, "%.*f", decimals, value);
  return text;
}

std::string measured(const Measured& m, const std::string& unit) {
  const int decimals = m.sigma() < 0.095 ? 2 : m.sigma() < 0.95 ? 1 : 0;
  return number(m.value(), decimals) + " ± " + number(m.sigma(), decimals) + unit;
}

const Section* sectionAt(const Shape& shape, double rotation_deg) {
  const Section* nearest = nullptr;
  double best = 0.51;
  for (const Section& s : shape.sections()) {
    const double apart = std::abs(std::remainder(s.rotation_deg() - rotation_deg, 360));
    if (apart < best) best = apart, nearest = &s;
  }
  return nearest;
}

const Grip* gripAt(const Shape& shape, double rotation_deg) {
  for (const Grip& g : shape.grips())
    if (std::abs(std::remainder(g.rotation_deg() - rotation_deg, 360)) < 0.01) return &g;
  return nullptr;
}

/// Paper coordinates of a section: z to the right, u upwards.
struct SectionFrame {
  double scale = 1, left = 0, base = 0, low_u = 0;
  Vector2d operator()(double u, double z) const {
    return {left + z * scale, base - (u - low_u) * scale};
  }
};

constexpr int kWidth = 860, kHeight = 640;

void drawWall(Pen& pen, const SectionFrame& at, double low, double high) {
  pen.grey(0);
  pen.line(at(low, 0), at(high, 0), 2);
  pen.grey(0.45);
  const double step = 10 / at.scale;
  for (double u = low; u <= high; u += step) pen.line(at(u, 0), at(u, 0) + Vector2d(-8, 8), 1);
  pen.grey(0);
  pen.text(at(high, 0) + Vector2d(-12, 4), "wall", 12, 1);
}

/// Place of the root: where the walk first comes to the root's height behind the lip.
Vector2d rootOf(const Section& section, const Grip& grip) {
  const double root_z = grip.lip_z_mm() - grip.edge_depth_mm().value();
  int lip = 0;
  double nearest = 1e300;
  for (int i = 0; i < section.points_mm_size(); ++i) {
    const double d = std::hypot(section.points_mm(i).x() - grip.lip_height_mm(),
                                section.points_mm(i).y() - grip.lip_z_mm());
    if (d < nearest) nearest = d, lip = i;
  }
  for (int i = lip; i < section.points_mm_size(); ++i)
    if (section.points_mm(i).y() <= root_z + 0.15) return {section.points_mm(i).x(), root_z};
  const Point2& last = section.points_mm(section.points_mm_size() - 1);
  return {last.x(), root_z};
}

/// Point of the grip face at a height, between lip and root.
Vector2d faceAt(const Section& section, const Grip& grip, double z) {
  bool past_lip = false;
  for (int i = 1; i < section.points_mm_size(); ++i) {
    const Point2 &a = section.points_mm(i - 1), &b = section.points_mm(i);
    past_lip = past_lip || std::hypot(b.x() - grip.lip_height_mm(), b.y() - grip.lip_z_mm()) < 1.5;
    if (!past_lip || (a.y() - z) * (b.y() - z) > 0 || b.y() >= a.y()) continue;
    return {a.x() + (z - a.y()) / (b.y() - a.y()) * (b.x() - a.x()), z};
  }
  return {grip.lip_height_mm(), z};
}

void drawDimensions(Pen& pen, const SectionFrame& at, const Section& section, const Grip& grip,
                    double high_u) {
  const double lip_u = grip.lip_height_mm(), lip_z = grip.lip_z_mm(),
               r = grip.lip_radius_mm().value();
  const Vector2d root = rootOf(section, grip);
  // Depth: between two witness lines above everything.
  const double above = high_u + 9 / at.scale;
  pen.grey(0.35);
  pen.line(at(root.x(), root.y()), at(above + 4 / at.scale, root.y()), 0.8);
  pen.line(at(lip_u, lip_z), at(above + 4 / at.scale, lip_z), 0.8);
  pen.grey(0);
  const Vector2d a = at(above, root.y()), b = at(above, lip_z), middle = 0.5 * (a + b);
  pen.arrow(middle, a, 1.2);
  pen.arrow(middle, b, 1.2);
  pen.text(middle + Vector2d(0, -7), "edge depth " + measured(grip.edge_depth_mm(), " mm"), 13,
           0.5);
  // Lip: its circle and a leader to the right.
  if (!grip.lip_sharp() && r < 200) {
    const Vector2d centre = at(lip_u, lip_z - r);
    pen.grey(0.3);
    pen.circle(centre, r * at.scale, 1.1);
    pen.line(centre - Vector2d(3, 0), centre + Vector2d(3, 0), 1);
    pen.line(centre - Vector2d(0, 3), centre + Vector2d(0, 3), 1);
  }
  pen.grey(0);
  const Vector2d lip = at(lip_u, lip_z);
  const Vector2d label(std::max(lip.x() + 40, at(0, lip_z).x() + 40), lip.y() + 46);
  pen.arrow(label + Vector2d(-2, -5), lip + Vector2d(2, 2));
  pen.text(label,
           grip.lip_sharp()
               ? "lip sharp, below " + number(std::max(r, grip.lip_radius_mm().sigma()), 1) + " mm"
               : "lip radius " + measured(grip.lip_radius_mm(), " mm"));
  // Incut: the fitted line laid on the grip face, and the wall's normal beside it.
  const double tilt = grip.incut_deg().value() * M_PI / 180;
  const double contact = std::max(grip.contact_mm(), 6.0) * std::cos(tilt);
  const double middle_z = std::min(root.y() + 0.5 * contact, lip_z - 0.5 * r);
  const Vector2d on_face = faceAt(section, grip, middle_z);
  const Vector2d start = on_face - 0.5 * contact * Vector2d(std::tan(tilt), 1);
  const Vector2d end = on_face + 0.5 * contact * Vector2d(std::tan(tilt), 1);
  pen.line(at(start.x(), start.y()), at(end.x(), end.y()), 2.6);
  pen.grey(0.35);
  pen.line(at(start.x(), start.y()), at(start.x(), start.y() + 1.15 * contact), 1, true);
  pen.grey(0);
  const double value = grip.incut_deg().value();
  const std::string words = value > 0.5    ? "incut "
                            : value < -0.5 ? "slopes away "
                                           : "square to the wall, ";
  const Vector2d under = label + Vector2d(0, 30);
  pen.arrow(under + Vector2d(-2, -5), at(on_face.x(), on_face.y()) + Vector2d(0, 2));
  pen.text(under, words + number(std::abs(value), 1) + " ± " +
                      number(std::max(grip.incut_deg().sigma(), 0.1), 1) + "°");
}

void captionLines(Pen& pen, const Section& section, const Grip* grip) {
  const double side = section.offset_mm();
  pen.text(
      {24, 32},
      "Section of the hold turned " + number(section.rotation_deg(), 0) + "° counter-clockwise", 17,
      0, true);
  pen.text({24, 52},
           "cut " + number(std::abs(side), 1) + " mm to the " + (side < 0 ? "left" : "right") +
               " of the origin as the climber sees it; pull straight down",
           12);
  double y = kHeight - 46;
  if (!grip) {
    pen.text({24, y}, "Nothing to hold at this rotation.", 13);
    return;
  }
  pen.text({24, y},
           "edge width " + measured(grip->edge_width_mm(), " mm") + " at " +
               number(grip->width_depth_mm(), 1) + " mm depth: " +
               (grip->fingers() == 0   ? std::string("less than a finger")
                : grip->fingers() == 1 ? std::string("one finger")
                                       : std::to_string(grip->fingers()) + " fingers") +
               "; along the surface " + measured(grip->edge_along_mm(), " mm"),
           13);
  y += 20;
  std::string notes = grip->root_at_wall() ? "The grip face ends at the wall. " : "";
  if (grip->cut_short()) notes += "A finger does not reach the true root: depth to where it does. ";
  if (grip->guesswork_share() > 0.05)
    notes += number(100 * grip->guesswork_share(), 0) +
             " % of this line was not seen by two good photos.";
  pen.text({24, y}, notes, 12);
}

// --- Roses ---

struct RoseSpec {
  std::string title, unit;
  std::function<double(const Grip&)> value;
  double low, high, ring;
};

void drawRose(Pen& pen, const Shape& shape, const RoseSpec& spec, const Vector2d& centre,
              double radius) {
  const auto place = [&](double deg, double value) {
    const double share = std::clamp((value - spec.low) / (spec.high - spec.low), 0.0, 1.0);
    const double angle = (90 + deg) * M_PI / 180;  // 0 at the top, counter-clockwise.
    return Vector2d(centre + radius * share * Vector2d(std::cos(angle), -std::sin(angle)));
  };
  pen.text({centre.x(), centre.y() - radius - 42}, spec.title, 15, 0.5, true);
  // Bars as wide as a step: a gap is a rotation with nothing to hold.
  const double step = shape.sections_size() > 0 ? 360.0 / shape.sections_size() : 5;
  for (const Grip& g : shape.grips()) {
    const double value = spec.value(g);
    if (!std::isfinite(value)) continue;
    const Vector2d floor_a = place(g.rotation_deg() - step / 2, spec.low),
                   a = place(g.rotation_deg() - step / 2, value),
                   b = place(g.rotation_deg() + step / 2, value);
    pen.path({floor_a, a, b}, true);
    cairo_set_source_rgb(pen.raw(), 0.62, 0.70, 0.78);
    cairo_fill_preserve(pen.raw());
    pen.grey(0.2);
    cairo_set_line_width(pen.raw(), 0.8);
    cairo_stroke(pen.raw());
  }
  pen.grey(0.55);
  for (double v = spec.low + spec.ring; v <= spec.high + 1e-9; v += spec.ring)
    pen.circle(centre, radius * (v - spec.low) / (spec.high - spec.low), 0.6);
  if (spec.low < 0) {
    pen.grey(0);
    pen.circle(centre, radius * (0 - spec.low) / (spec.high - spec.low), 1.4);
  }
  pen.grey(0);
  for (double v = spec.low + spec.ring; v <= spec.high + 1e-9; v += spec.ring) {
    const double at = radius * (v - spec.low) / (spec.high - spec.low);
    pen.text(centre + Vector2d(3, -at + 4), number(v, 0) + spec.unit, 10);
  }
  for (int deg = 0; deg < 360; deg += 45) {
    const double angle = (90 + deg) * M_PI / 180;
    const Vector2d way(std::cos(angle), -std::sin(angle));
    pen.line(centre + radius * way, centre + (radius + 5) * way, 1);
    pen.text(centre + (radius + 18) * way + Vector2d(0, 4), std::to_string(deg) + "°", 11, 0.5);
  }
}

double ringStep(double range) {
  for (double step : {1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0})
    if (range / step <= 5) return step;
  return 200;
}

// --- Slope map ---

cairo_surface_t* surfaceOf(const RasterImage& image) {
  cairo_surface_t* surface =
      cairo_image_surface_create(CAIRO_FORMAT_RGB24, image.width_px, image.height_px);
  unsigned char* data = cairo_image_surface_get_data(surface);
  const int stride = cairo_image_surface_get_stride(surface);
  for (int y = 0; y < image.height_px; ++y)
    for (int x = 0; x < image.width_px; ++x) {
      const std::uint8_t* p =
          &image.rgb[(static_cast<std::size_t>(y) * static_cast<std::size_t>(image.width_px) +
                      static_cast<std::size_t>(x)) *
                     3];
      reinterpret_cast<std::uint32_t*>(data + y * stride)[x] =
          static_cast<std::uint32_t>(p[0]) << 16 | static_cast<std::uint32_t>(p[1]) << 8 | p[2];
    }
  cairo_surface_mark_dirty(surface);
  return surface;
}

void drawImage(Pen& pen, cairo_surface_t* surface, const Vector2d& at, double scale) {
  cairo_save(pen.raw());
  cairo_translate(pen.raw(), at.x(), at.y());
  cairo_scale(pen.raw(), scale, scale);
  cairo_set_source_surface(pen.raw(), surface, 0, 0);
  cairo_paint(pen.raw());
  cairo_restore(pen.raw());
  pen.grey(0);
}

void drawScale(Pen& pen, double highest) {
  const double left = 60, top = 478, width = 740, height = 20;
  for (int i = 0; i < 240; ++i) {
    const auto c = mapColour(ColourMap::Sequential, (i + 0.5) / 240);
    cairo_set_source_rgb(pen.raw(), c[0] / 255.0, c[1] / 255.0, c[2] / 255.0);
    cairo_rectangle(pen.raw(), left + width * i / 240, top, width / 240 + 0.5, height);
    cairo_fill(pen.raw());
  }
  pen.grey(0);
  for (int deg = 0; deg <= static_cast<int>(highest); deg += 15) {
    const double x = left + width * deg / highest;
    pen.line({x, top + height}, {x, top + height + 6}, 1);
    pen.text({x, top + height + 20}, std::to_string(deg) + "°", 11, 0.5);
  }
  pen.text({left, top - 8}, "faces the climber", 12);
  pen.text({left + width * 90 / highest, top - 8}, "square to the wall", 12, 0.5);
  pen.text({left + width, top - 8}, "looks at the wall", 12, 1);
}

}  // namespace

const Grip* bestGrip(const Shape& shape) {
  const Grip* best = nullptr;
  double merit = 0;
  for (const Grip& g : shape.grips()) {
    const double m = edgeMerit(g.edge_depth_mm().value(), g.incut_deg().value()) *
                     std::sqrt(std::min(64.0, g.edge_width_mm().value()));
    if (m > merit) merit = m, best = &g;
  }
  return best;
}

Plot plotSection(const Shape& shape, double rotation_deg) {
  const Section* section = sectionAt(shape, rotation_deg);
  if (!section || section->points_mm_size() < 3)
    throw BadInput("There is no section at rotation " + number(rotation_deg, 1) +
                   " degrees; measure that rotation first.");
  const Grip* grip = gripAt(shape, section->rotation_deg());
  double low = 1e300, high = -1e300, top = 0;
  for (const Point2& p : section->points_mm()) {
    low = std::min(low, p.x());
    high = std::max(high, p.x());
    top = std::max(top, p.y());
  }
  SectionFrame at;
  at.scale =
      std::min((kHeight - 210) / std::max(20.0, high - low), (kWidth - 380) / std::max(20.0, top));
  at.left = 110;
  at.base = kHeight - 90;
  at.low_u = low;
  return drawn(kWidth, kHeight, [&](Pen& pen) {
    std::vector<Vector2d> outline;
    for (const Point2& p : section->points_mm()) outline.push_back(at(p.x(), p.y()));
    pen.path(outline, true);
    pen.grey(0.86);
    cairo_fill(pen.raw());
    pen.grey(0.1);
    pen.path(outline, false);
    cairo_set_line_width(pen.raw(), 1.6);
    cairo_stroke(pen.raw());
    drawWall(pen, at, low - 12 / at.scale, high + 12 / at.scale);
    const Vector2d pull(kWidth - 90, 150);
    pen.arrow(pull, pull + Vector2d(0, 90), 2.5);
    pen.text(pull + Vector2d(0, -10), "pull", 13, 0.5);
    const double bar = at.scale * 20;
    pen.line({kWidth - 60 - bar, kHeight - 100}, {kWidth - 60.0, kHeight - 100}, 2.5);
    pen.text({kWidth - 60 - bar / 2, kHeight - 108}, "20 mm", 12, 0.5);
    if (grip) drawDimensions(pen, at, *section, *grip, high);
    captionLines(pen, *section, grip);
  });
}

Plot plotRose(const Shape& shape) {
  double depth = 5, radius = 2, low = -10, high = 10;
  for (const Grip& g : shape.grips()) {
    depth = std::max(depth, g.edge_depth_mm().value());
    radius = std::max(radius, std::min(40.0, g.lip_radius_mm().value()));
    low = std::min(low, std::max(-60.0, g.incut_deg().value()));
    high = std::max(high, std::min(60.0, g.incut_deg().value()));
  }
  const auto spec = [](std::string title, std::string unit, double from, double to,
                       std::function<double(const Grip&)> value) {
    const double coarse = ringStep(to - from);
    RoseSpec rose{std::move(title), std::move(unit), std::move(value), 0, 0, coarse};
    rose.low = std::floor(from / coarse) * coarse;
    rose.high = std::ceil(to / coarse) * coarse;
    rose.ring = ringStep(rose.high - rose.low);
    return rose;
  };
  const RoseSpec roses[] = {
      spec("Edge depth, mm", "", 0, depth, [](const Grip& g) { return g.edge_depth_mm().value(); }),
      spec("Incut, degrees (thick ring: 0)", "°", low, high,
           [](const Grip& g) { return g.incut_deg().value(); }),
      spec("Lip radius, mm (40: or more)", "", 0, radius,
           [](const Grip& g) { return std::min(40.0, g.lip_radius_mm().value()); })};
  return drawn(1140, 470, [&](Pen& pen) {
    pen.text({24, 30}, "What a downward pull finds, by rotation of the hold", 17, 0, true);
    for (int i = 0; i < 3; ++i) drawRose(pen, shape, roses[i], {200.0 + 370 * i, 265}, 140);
    pen.text({24, 455},
             "Angle: the hold turned counter-clockwise as the climber sees it, 0° as stored. A "
             "gap: nothing to hold there.",
             12);
  });
}

Plot plotSlope(const TriangleMesh& mesh) {
  constexpr double kHighest_deg = 120;
  ShadeOptions options;
  options.scalars = slopeMap_deg(mesh);
  options.scalar_low = 0;
  options.scalar_high = kHighest_deg;
  const Eigen::Vector3d up = Eigen::Vector3d::UnitY();
  const Eigen::Vector3d above(0, std::sin(50 * M_PI / 180), std::cos(50 * M_PI / 180));
  cairo_surface_t* views[2];
  int i = 0;
  for (const Eigen::Vector3d& from : {Eigen::Vector3d(Eigen::Vector3d::UnitZ()), above})
    views[i++] =
        surfaceOf(renderMesh(mesh, fitOrthographic(mesh, from, up, 800, 760), up, options));
  Plot plot = drawn(kWidth, 530, [&](Pen& pen) {
    pen.text({24, 32}, "Slope of the surface", 17, 0, true);
    drawImage(pen, views[0], {20, 62}, 0.5);
    drawImage(pen, views[1], {440, 62}, 0.5);
    pen.text({220, 56}, "as the climber sees it", 12, 0.5);
    pen.text({640, 56}, "from 50° above", 12, 0.5);
    drawScale(pen, kHighest_deg);
  });
  for (cairo_surface_t* v : views) cairo_surface_destroy(v);
  return plot;
}

std::vector<std::filesystem::path> writePlots(const std::filesystem::path& folder,
                                              const std::string& name, const TriangleMesh& mesh,
                                              const Shape& shape,
                                              const std::vector<double>& rotations_deg) {
  std::error_code error;
  std::filesystem::create_directories(folder, error);
  std::vector<std::filesystem::path> files;
  const auto write = [&](const std::string& kind, const Plot& plot) {
    for (const auto& [extension, bytes] :
         {std::pair<const char*, const std::string&>(".svg", plot.svg), {".png", plot.png}}) {
      files.push_back(folder / (name + "-" + kind + extension));
      writeWhole(files.back(), bytes);
    }
  };
  std::vector<double> rotations = rotations_deg;
  if (const Grip* best = bestGrip(shape); best && rotations.empty())
    rotations.push_back(best->rotation_deg());
  for (double r : rotations) {
    char kind[32];
    std::snprintf(kind, sizeof kind, "section-%03.0f", r);
    write(kind, plotSection(shape, r));
  }
  if (shape.sections_size() >= 8) write("rose", plotRose(shape));
  write("slope", plotSlope(mesh));
  return files;
}

}  // namespace holdshelf
