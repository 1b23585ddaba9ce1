// SPDX-License-Identifier: Apache-2.0
#include "tests/shapes/panel.h"

#include <cmath>
#include <limits>

namespace holdshelf {
namespace {

using Eigen::Vector3d;

std::string number(double v) {
  char text[32];
  std::snprintf(text, sizeof text, "%g", v);
  return text;
}

/// An edge with square ends, so that its width is exactly the solid's, sized to hold its own arcs.
ExactHold edge(double depth, double lip, double incut, double width = 60, double root = 2) {
  EdgeSpec s;
  s.depth_mm = depth;
  s.lip_radius_mm = lip;
  s.incut_deg = incut;
  s.width_mm = width;
  s.root_radius_mm = root;
  s.end_blend_mm = 0;
  // The floor stays low, so that its own far edge is the lesser one.
  s.protrusion_mm = depth + (incut < -30 ? 4 : std::min(12.0, 0.5 * depth));
  const double turn = (90 + incut) * M_PI / 180;
  s.front_mm = std::max(26.0, lip * std::tan(turn / 2) + 0.25 * s.protrusion_mm * 1.6 + 10);
  s.lip_y_mm = 0.5 * s.front_mm;
  s.floor_mm = 18 + 0.3 * 14;
  ExactHold hold = edgeHold(s);
  hold.name =
      "edge d" + number(depth) + " r" + number(lip) + " i" + number(incut) + " w" + number(width);
  return hold;
}

ExactHold turned(const ExactHold& hold, double angle_deg) {
  ExactHold out = hold;
  out.solid = rotate(hold.solid, angle_deg, Vector3d::UnitZ());
  const double reach = hold.box_mm.min()
                           .head<2>()
                           .cwiseAbs()
                           .cwiseMax(hold.box_mm.max().head<2>().cwiseAbs())
                           .norm();
  out.box_mm = Eigen::AlignedBox3d(Vector3d(-reach, -reach, 0),
                                   Vector3d(reach, reach, hold.box_mm.max().z()));
  // Turning the hold on by the same angle backwards brings its edge up again.
  out.edge_rotation_deg = std::fmod(hold.edge_rotation_deg - angle_deg + 720, 360);
  out.name += " turned " + number(angle_deg);
  return out;
}

/// A bumpy lump on the face, clear of the lip: organic around, exact where it is measured.
ExactHold lumpy(const ExactHold& hold, std::uint32_t seed) {
  ExactHold out = hold;
  const double front = hold.box_mm.min().y();
  const Sdf lump = bumps(translate(ellipsoid({16, 8, 14}), {0, front + 1, 0}), 1.2, 22, seed);
  out.solid = intersect(unite(hold.solid, lump, 3), halfSpace({0, 0, -1}, 0));
  out.box_mm.extend(Vector3d(0, front - 14, 0));
  out.name += " lumpy";
  return out;
}

ExactBolt flatBolt(double seat, double bore, double recess) {
  ExactBolt bolt;
  bolt.seat_height_mm = seat;
  bolt.bore_mm = bore;
  bolt.recess_mm = recess;
  return bolt;
}

ExactBolt coneBolt(double seat, double bore, double recess, double cone) {
  ExactBolt bolt = flatBolt(seat, bore, recess);
  bolt.seat = ExactBolt::Seat::Cone;
  bolt.cone_deg = cone;
  return bolt;
}

ExactHold named(ExactHold hold, const std::string& name) {
  hold.name = name;
  return hold;
}

}  // namespace

std::vector<ExactHold> exactPanel() {
  std::vector<ExactHold> panel;
  for (double depth : {5.0, 8.0, 10.0, 15.0, 25.0, 35.0})
    panel.push_back(edge(depth, 1.5, 0, 60, 1));
  for (double radius : {0.0, 1.0, 2.0, 3.0, 5.0, 8.0, 12.0, 16.0, 20.0, 30.0, 40.0})
    panel.push_back(edge(std::max(14.0, radius + 8), radius, 0, 40));
  for (double incut : {-50.0, -40.0, -30.0, -20.0, -10.0, 10.0, 20.0, 30.0, 40.0})
    panel.push_back(edge(24, 3, incut, 40));
  for (double width : {20.0, 33.0, 85.0, 120.0}) panel.push_back(edge(12, 2, 5, width, 1.5));
  panel.push_back(edge(23, 0, 25, 110, 1));   // The edge of a published study.
  panel.push_back(edge(40, 25, -35, 70, 4));  // Slopers.
  panel.push_back(edge(34, 12, -45, 60, 3));
  panel.push_back(edge(42, 8, 22, 70, 8));  // Jugs.
  panel.push_back(edge(36, 6, 35, 60, 6));
  panel.push_back(edge(4, 0.5, 0, 30, 0.5));  // A chip.
  panel.push_back(turned(edge(16, 4, 12, 50), 35));
  panel.push_back(turned(edge(11, 2, -15, 40), 140));
  panel.push_back(turned(edge(20, 6, 0, 45), 270));
  panel.push_back(lumpy(edge(18, 3, 8, 60), 7));
  panel.push_back(lumpy(edge(26, 10, -12, 60), 8));
  {
    EdgeSpec s;
    s.end_blend_mm = 0;
    panel.push_back(named(withBolt(edgeHold(s), flatBolt(12, 11, 20)), "edge, flat seat"));
    panel.push_back(named(withBolt(edgeHold(s), coneBolt(10, 10.5, 22, 90)), "edge, cone seat"));
    panel.push_back(named(withBolt(edgeHold(s), coneBolt(14, 5, 10, 82)), "edge, screw"));
  }
  panel.push_back(named(pinchHold(30, 0, 45, 60, 5), "pinch 30 parallel"));
  panel.push_back(named(pinchHold(46, 16, 50, 70, 6), "pinch 46 taper 16"));
  panel.push_back(named(pinchHold(70, 30, 48, 60, 6), "pinch 70 taper 30"));
  panel.push_back(named(pinchHold(13, 10, 52, 60, 4), "fin 13"));
  panel.push_back(named(pocketHold(20, 20, 25, 4), "mono 20"));
  panel.push_back(named(pocketHold(38, 22, 20, 4), "two-finger 38 x 22"));
  panel.push_back(named(pocketHold(54, 26, 30, 5), "three-finger 54 x 26"));
  panel.push_back(named(domeHold(80, 42), "dome 80"));
  panel.push_back(named(domeHold(40, 40), "half sphere 40"));
  return panel;
}

double PanelCheck::tolerance() const {
  switch (kind) {
    case Kind::Length:
      return std::max(0.1, 0.005 * std::abs(truth));
    case Kind::Radius:
      return std::max(0.1, 0.03 * truth);
    case Kind::Angle:
      return 0.3;
    case Kind::Width:
      return 0.5;
  }
  return 0;
}

namespace {

class Checker {
 public:
  explicit Checker(const std::string& hold) : hold_(hold) {}
  void add(const char* quantity, PanelCheck::Kind kind, double truth, const Measured* m) {
    PanelCheck check{hold_, quantity, kind, truth, std::numeric_limits<double>::quiet_NaN(), 0};
    if (m) check.measured = m->value(), check.sigma = m->sigma();
    checks.push_back(check);
  }
  std::vector<PanelCheck> checks;

 private:
  std::string hold_;
};

void checkEdge(const ExactHold& hold, const Shape& shape, Checker& check) {
  using Kind = PanelCheck::Kind;
  const Grip* grip = nullptr;
  for (const Grip& g : shape.grips())
    if (std::abs(std::remainder(g.rotation_deg() - hold.edge_rotation_deg, 360)) < 0.01) grip = &g;
  check.add("edge depth", Kind::Length, *hold.edge_depth_mm,
            grip ? &grip->edge_depth_mm() : nullptr);
  // A lip that is called sharp counts as the corner of its faces.
  const double turn = (90 + *hold.incut_deg) * std::acos(-1.0) / 180;
  const double rounding = grip && grip->lip_sharp() ? turn - std::tan(turn / 2) : 0;
  check.add("edge along", Kind::Length, *hold.edge_along_mm - *hold.lip_radius_mm * rounding,
            grip ? &grip->edge_along_mm() : nullptr);
  check.add("incut", Kind::Angle, *hold.incut_deg, grip ? &grip->incut_deg() : nullptr);
  check.add("edge width", Kind::Width, *hold.edge_width_mm,
            grip ? &grip->edge_width_mm() : nullptr);
  // Below the mesh's resolution a lip is called sharp and its radius is only a bound.
  Measured sharp;
  if (grip && grip->lip_sharp() && *hold.lip_radius_mm <= 0.5) sharp.set_value(*hold.lip_radius_mm);
  check.add("lip radius", Kind::Radius, *hold.lip_radius_mm,
            !grip               ? nullptr
            : grip->lip_sharp() ? &sharp
                                : &grip->lip_radius_mm());
}

void checkBolt(const ExactHold& hold, const Shape& shape, Checker& check) {
  using Kind = PanelCheck::Kind;
  const BoltSeat* seat = shape.bolt_seats_size() == 1 ? &shape.bolt_seats(0) : nullptr;
  if (seat && (seat->kind() == BoltSeat::CONE) != (hold.bolt->seat == ExactBolt::Seat::Cone))
    seat = nullptr;
  check.add("seat height", Kind::Length, hold.bolt->seat_height_mm,
            seat ? &seat->seat_height_mm() : nullptr);
  check.add("bore", Kind::Length, hold.bolt->bore_mm, seat ? &seat->bore_mm() : nullptr);
  check.add("recess", Kind::Length, hold.bolt->recess_mm, seat ? &seat->recess_mm() : nullptr);
}

void checkPinch(const ExactHold& hold, const Shape& shape, Checker& check) {
  using Kind = PanelCheck::Kind;
  const Pinch* pinch = nullptr;
  for (const Pinch& p : shape.pinches())
    if (std::abs(std::remainder(p.direction_deg(), 180)) < 1 && !pinch) pinch = &p;
  const double per_mm = 2 * std::tan(*hold.pinch_taper_deg / 2 * M_PI / 180);
  const double depth =
      pinch ? pinch->depth_mm() + hold.protrusion_mm - std::floor(hold.protrusion_mm) : 0;
  check.add("pinch width", Kind::Length, *hold.pinch_top_mm + per_mm * depth,
            pinch ? &pinch->width_mm() : nullptr);
  check.add("pinch taper", Kind::Angle, *hold.pinch_taper_deg,
            pinch ? &pinch->taper_deg() : nullptr);
}

}  // namespace

std::vector<PanelCheck> checkShape(const ExactHold& hold, const Shape& shape) {
  using Kind = PanelCheck::Kind;
  Checker check(hold.name);
  check.add("protrusion", Kind::Length, hold.protrusion_mm, &shape.protrusion_mm());
  if (hold.edge_depth_mm) checkEdge(hold, shape, check);
  if (hold.bolt) checkBolt(hold, shape, check);
  if (hold.pinch_top_mm) checkPinch(hold, shape, check);
  if (hold.pocket_width_mm) {
    const Pocket* pocket = shape.pockets_size() == 1 ? &shape.pockets(0) : nullptr;
    check.add("pocket width", Kind::Width, *hold.pocket_width_mm,
              pocket ? &pocket->width_mm() : nullptr);
    check.add("pocket height", Kind::Width, *hold.pocket_height_mm,
              pocket ? &pocket->height_mm() : nullptr);
    check.add("pocket depth", Kind::Length, *hold.pocket_depth_mm,
              pocket ? &pocket->depth_mm() : nullptr);
  }
  if (hold.dome_radius_mm && !hold.bolt) {
    const Grip* grip = shape.grips_size() > 0 ? &shape.grips(0) : nullptr;
    check.add("dome radius", Kind::Radius, *hold.dome_radius_mm,
              grip ? &grip->lip_radius_mm() : nullptr);
  }
  return check.checks;
}

}  // namespace holdshelf
