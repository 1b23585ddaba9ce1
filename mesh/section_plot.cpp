// SPDX-License-Identifier: Apache-2.0
#include "mesh/section_plot.h"

#include <cairo.h>

#include <algorithm>
#include <cmath>

#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

using Eigen::Vector2d;

const Section* sectionAt(const Shape& shape, double rotation_deg, std::optional<double> offset_mm) {
  const Section* nearest = nullptr;
  double best = 0.51;
  for (const Section& s : shape.sections()) {
    if (offset_mm && std::abs(s.offset_mm() - *offset_mm) > 0.01) continue;
    const double apart = std::abs(std::remainder(s.rotation_deg() - rotation_deg, 360));
    if (apart < best) best = apart, nearest = &s;
  }
  return nearest;
}

const Grip* gripIn(const Shape& shape, const Section& section) {
  for (const Grip& g : shape.grips())
    if (std::abs(std::remainder(g.rotation_deg() - section.rotation_deg(), 360)) < 0.01 &&
        std::abs(g.offset_mm() - section.offset_mm()) < 0.01)
      return &g;
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

void drawDepth(Pen& pen, const SectionFrame& at, const Grip& grip, const Vector2d& root,
               double high_u) {
  const double lip_u = grip.lip_height_mm(), lip_z = grip.lip_z_mm();
  // Depth: between two witness lines above everything.
  const double above = high_u + 9 / at.scale;
  pen.grey(0.35);
  pen.line(at(root.x(), root.y()), at(above + 4 / at.scale, root.y()), 0.8);
  pen.line(at(lip_u, lip_z), at(above + 4 / at.scale, lip_z), 0.8);
  pen.grey(0);
  pen.dimension(at(above, root.y()), at(above, lip_z),
                "edge depth " + withSigma(grip.edge_depth_mm(), " mm"));
}

/// @return  Where the lip's words stand.
Vector2d drawLip(Pen& pen, const SectionFrame& at, const Grip& grip) {
  const double lip_u = grip.lip_height_mm(), lip_z = grip.lip_z_mm(),
               r = grip.lip_radius_mm().value();
  // Lip: its circle and a leader to the right.
  if (!grip.lip_sharp() && r < 200) {
    const Vector2d centre = grip.has_lip_centre_mm()
                                ? at(grip.lip_centre_mm().x(), grip.lip_centre_mm().y())
                                : at(lip_u, lip_z - r);
    pen.grey(0.3);
    pen.circle(centre, r * at.scale, 1.1);
    pen.line(centre - Vector2d(3, 0), centre + Vector2d(3, 0), 1);
    pen.line(centre - Vector2d(0, 3), centre + Vector2d(0, 3), 1);
  }
  pen.grey(0);
  const Vector2d lip = at(lip_u, lip_z);
  Vector2d label(std::max(lip.x() + 40, at(0, lip_z).x() + 40), lip.y() + 46);
  pen.arrow(label + Vector2d(-2, -5), lip + Vector2d(2, 2));
  pen.text(label, grip.lip_sharp() ? "lip sharp, below " +
                                         fixed(std::max(r, grip.lip_radius_mm().sigma()), 1) + " mm"
                                   : "lip radius " + withSigma(grip.lip_radius_mm(), " mm"));
  return label;
}

/// @param under  Where its words stand.
void drawIncut(Pen& pen, const SectionFrame& at, const Section& section, const Grip& grip,
               const Vector2d& root, const Vector2d& under) {
  const double lip_z = grip.lip_z_mm(), r = grip.lip_radius_mm().value();
  // Incut: the fitted line laid on the grip face, and the wall's normal beside it.
  const double tilt = grip.incut_deg().value() * M_PI / 180;
  const double contact = std::max(grip.contact_mm(), 6.0) * std::cos(tilt);
  // Behind the lip's arc, where it was fitted.
  const double behind =
      grip.has_lip_centre_mm() ? grip.lip_centre_mm().y() - r * std::sin(tilt) : lip_z - 0.5 * r;
  const double middle_z = std::max(behind - 0.5 * contact, root.y() + 0.3 * contact);
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
  pen.arrow(under + Vector2d(-2, -5), at(on_face.x(), on_face.y()) + Vector2d(0, 2));
  pen.text(under, words + fixed(std::abs(value), 1) + " ± " +
                      fixed(std::max(grip.incut_deg().sigma(), 0.1), 1) + "°");
}

void drawDimensions(Pen& pen, const SectionFrame& at, const Section& section, const Grip& grip,
                    double high_u) {
  const Vector2d root = rootOf(section, grip);
  drawDepth(pen, at, grip, root, high_u);
  const Vector2d label = drawLip(pen, at, grip);
  drawIncut(pen, at, section, grip, root, label + Vector2d(0, 30));
}

void captionLines(Pen& pen, const Section& section, const Grip* grip) {
  const double side = section.offset_mm();
  pen.text({24, 32},
           "Section of the hold turned " + fixed(section.rotation_deg(), 0) + "° counter-clockwise",
           17, 0, true);
  pen.text({24, 52},
           "cut " + fixed(std::abs(side), 1) + " mm to the " + (side < 0 ? "left" : "right") +
               " of the origin as the climber sees it; pull straight down",
           12);
  double y = kHeight - 46;
  if (!grip) {
    pen.text({24, y}, "Nothing to hold at this rotation.", 13);
    return;
  }
  pen.text({24, y},
           "edge width " + withSigma(grip->edge_width_mm(), " mm") + " at " +
               fixed(grip->width_depth_mm(), 1) + " mm depth: " +
               (grip->fingers() == 0   ? std::string("less than a finger")
                : grip->fingers() == 1 ? std::string("one finger")
                                       : std::to_string(grip->fingers()) + " fingers") +
               "; along the surface " + withSigma(grip->edge_along_mm(), " mm"),
           13);
  y += 20;
  std::string notes = grip->root_at_wall() ? "The grip face ends at the wall. " : "";
  if (grip->cut_short()) notes += "A finger does not reach the true root: depth to where it does. ";
  if (grip->guesswork_share() > 0.05)
    notes += fixed(100 * grip->guesswork_share(), 0) +
             " % of this line was not seen by two good photos.";
  pen.text({24, y}, notes, 12);
}

}  // namespace

Plot plotSection(const Shape& shape, double rotation_deg, std::optional<double> offset_mm) {
  const Section* section = sectionAt(shape, rotation_deg, offset_mm);
  if (!section || section->points_mm_size() < 3)
    throw BadInput("There is no section at rotation " + fixed(rotation_deg, 1) +
                   " degrees; measure that rotation first.");
  const Grip* grip = gripIn(shape, *section);
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
  return drawPlot(kWidth, kHeight, [&](Pen& pen) {
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
    pen.scaleBar({kWidth - 60, kHeight - 100}, at.scale, 20);
    if (grip) drawDimensions(pen, at, *section, *grip, high);
    captionLines(pen, *section, grip);
  });
}

}  // namespace holdshelf
