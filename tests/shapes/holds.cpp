// SPDX-License-Identifier: Apache-2.0
#include "tests/shapes/holds.h"

#include <cmath>
#include <functional>
#include <map>
#include <numbers>
#include <stdexcept>

#include "tests/shapes/artefacts.h"
#include "tests/shapes/profile.h"

namespace holdshelf {
namespace {

using Eigen::AlignedBox3d;
using Eigen::Vector2d;
using Eigen::Vector3d;

constexpr double kFar_mm = 400;
constexpr double kRadian = std::numbers::pi / 180;

Sdf aboveWall(const Sdf& solid) { return intersect(solid, halfSpace({0, 0, -1}, 0)); }

/// What an edge's ends are cut with: the slab |x| < half_width.
Sdf slab(double half_width_mm) { return box({half_width_mm, kFar_mm, kFar_mm}); }

ExactHold named(const std::string& name, ExactHold hold) {
  hold.name = name;
  return hold;
}

ExactHold incutEdge() { return withBolt(edgeHold({}), {}); }

ExactHold roundedEdge() {
  EdgeSpec spec;
  spec.depth_mm = 26;
  spec.lip_radius_mm = 12;
  spec.incut_deg = -6;
  spec.protrusion_mm = 40;
  spec.width_mm = 100;
  ExactBolt bolt;
  bolt.seat_height_mm = 18;
  return withBolt(edgeHold(spec), bolt);
}

ExactHold jug() {
  EdgeSpec spec;
  spec.depth_mm = 42;
  spec.lip_radius_mm = 8;
  spec.incut_deg = 22;
  spec.protrusion_mm = 56;
  spec.width_mm = 110;
  spec.root_radius_mm = 10;
  spec.lip_y_mm = 34;
  spec.floor_mm = 40;
  spec.front_mm = 52;
  spec.end_blend_mm = 10;
  ExactBolt bolt;
  bolt.seat_height_mm = 22;
  return withBolt(edgeHold(spec), bolt);
}

ExactHold chip() {
  EdgeSpec spec;
  spec.depth_mm = 8;
  spec.lip_radius_mm = 1.5;
  spec.incut_deg = 0;
  spec.protrusion_mm = 13;
  spec.width_mm = 44;
  spec.root_radius_mm = 1.5;
  spec.lip_y_mm = 10;
  spec.floor_mm = 10;
  spec.front_mm = 20;
  spec.end_blend_mm = 3;
  ExactBolt screw;
  screw.seat = ExactBolt::Seat::Cone;
  screw.seat_height_mm = 6;
  screw.bore_mm = 5;
  screw.recess_mm = 10;
  return withBolt(edgeHold(spec), screw);
}

ExactHold dome() {
  ExactBolt bolt;
  bolt.seat_height_mm = 20;
  return withBolt(domeHold(80, 42), bolt);
}

ExactHold pinch() {
  ExactBolt bolt;
  bolt.seat_height_mm = 15;
  bolt.recess_mm = 18;
  return withBolt(pinchHold(46, 16, 58, 110, 9), bolt);
}

ExactHold fin() { return pinchHold(13, 10, 52, 90, 4); }

ExactHold pocket() {
  ExactBolt bolt;
  bolt.axis_mm = {0, 0};
  bolt.seat_height_mm = 10;
  bolt.recess_mm = 18;
  return withBolt(pocketHold(44, 26, 30, 5), bolt);
}

/// A tapering incut ledge on a lumpy belly, as if broken out of a rock; lip and grip face are
/// plain.
ExactHold ledge() {
  EdgeSpec spec;
  spec.depth_mm = 22;
  spec.lip_radius_mm = 5;
  spec.incut_deg = 12;
  spec.width_mm = 104;
  spec.protrusion_mm = 44;
  spec.root_radius_mm = 4;
  spec.lip_y_mm = 26;
  spec.floor_mm = 22;
  spec.front_mm = 40;
  spec.end_blend_mm = 12;
  ExactHold hold = edgeHold(spec);
  const Sdf belly = unite(translate(ellipsoid({44, 26, 34}), {-8, -26, 2}),
                          translate(ellipsoid({24, 20, 24}), {34, -18, 4}), 14);
  const Sdf body = unite(hold.solid, belly, 12);
  // No lump reaches the lip, the grip face and the floor behind it, the top, nor the bolt.
  const Sdf quiet = unite(unite(translate(box({200, 50, 60}), {0, 60, 0}), cylinder(14, 100)),
                          halfSpace({0, 0, -1}, -34));
  hold.solid = aboveWall(bumpsOutside(body, 1.6, 30, 5, quiet, 12));
  hold.box_mm.extend(Vector3d(-60, -62, 0));
  hold.box_mm.extend(Vector3d(64, 0, 0));
  ExactBolt bolt;
  bolt.seat_height_mm = 16;
  return withBolt(hold, bolt);
}

/// z of the solid's highest point above (x, y); 0 where there is none.
double heightAt(const Sdf& solid, double x, double y, double from_mm) {
  double z = from_mm;
  for (int i = 0; i < 400 && z > 0; ++i) {
    const double f = solid(Vector3d(x, y, z));
    if (f < 1e-6) break;
    z -= f / 1.4;  // Bumps may be steeper than a distance.
  }
  return std::max(z, 0.0);
}

/// Largest z of a solid without a flat top: the best of a 1 mm grid, then halving steps around it.
double highestPoint(const Sdf& solid, const AlignedBox3d& box_mm) {
  const double from = box_mm.max().z() + 5;
  Vector3d best(0, 0, -1);
  const auto look = [&](double x, double y) {
    const double z = heightAt(solid, x, y, from);
    if (z > best.z()) best = {x, y, z};
  };
  for (double x = box_mm.min().x(); x <= box_mm.max().x(); ++x)
    for (double y = box_mm.min().y(); y <= box_mm.max().y(); ++y) look(x, y);
  for (double step = 0.5; step > 1e-4; step /= 2)
    for (int i = 0; i < 9; ++i) look(best.x() + (i % 3 - 1) * step, best.y() + (i / 3 - 1) * step);
  return best.z();
}

/// A lumpy round with a dish behind its upper rim and a thumb dent: slopes from below, bites above.
ExactHold bowl() {
  const Sdf round = translate(ellipsoid({62, 56, 52}), {0, 12, -4});
  const Sdf scoop = translate(rotate(ellipsoid({39, 21, 30}), 14, {1, 0, 0}), {0, 44, 38});
  const Sdf thumb = translate(sphere(16), {-54, 2, 38});
  const Sdf body = bumpsOutside(subtract(subtract(round, scoop, 9), thumb, 8), 1.8, 44, 9,
                                cylinder(14, 200), 12);
  ExactHold hold("bowl", aboveWall(body),
                 AlignedBox3d(Vector3d(-66, -48, 0), Vector3d(66, 72, 52)));
  ExactBolt bolt;
  bolt.seat_height_mm = 18;
  hold = withBolt(hold, bolt);
  hold.protrusion_mm = highestPoint(hold.solid, hold.box_mm);
  return hold;
}

/// So wide that it hides an A4 mat almost to its edge.
ExactHold volume() { return domeHold(170, 66); }

const std::map<std::string, std::function<ExactHold()>>& shelf() {
  static const std::map<std::string, std::function<ExactHold()>> holds = {
      {"edge", incutEdge}, {"rounded", roundedEdge}, {"jug", jug},  {"chip", chip},
      {"dome", dome},      {"pinch", pinch},         {"fin", fin},  {"pocket", pocket},
      {"ledge", ledge},    {"volume", volume},       {"bowl", bowl}};
  return holds;
}

}  // namespace

ExactHold edgeHold(const EdgeSpec& s) {
  const double top = s.protrusion_mm, floor = top - s.depth_mm;
  const double root_y = s.lip_y_mm - s.depth_mm * std::tan(s.incut_deg * kRadian);
  const double back_y = root_y + s.floor_mm, front_y = s.lip_y_mm - s.front_mm;
  const Profile section({{{front_y - 0.35 * top, 0}},
                         {{back_y + 0.35 * floor, 0}},
                         {{back_y, floor}, std::min(0.3 * floor, 0.3 * s.floor_mm)},
                         {{root_y, floor}, s.root_radius_mm},
                         {{s.lip_y_mm, top}, s.lip_radius_mm},
                         {{front_y, top}, 0.25 * top}});
  ExactHold hold{
      "edge", aboveWall(intersect(extrude(section, kFar_mm), slab(s.width_mm / 2), s.end_blend_mm)),
      AlignedBox3d(Vector3d(-s.width_mm / 2, front_y - 0.35 * top, 0),
                   Vector3d(s.width_mm / 2, back_y + 0.35 * floor, top))};
  hold.box_mm.extend(Vector3d(0, s.lip_y_mm, top));
  hold.protrusion_mm = top;
  hold.edge_depth_mm = s.depth_mm;
  // From corner to corner, less what the two arcs cut off on the grip face, plus their lengths.
  const double turn = (90 + s.incut_deg) * kRadian;
  hold.edge_along_mm = s.depth_mm / std::cos(s.incut_deg * kRadian) +
                       (s.lip_radius_mm + s.root_radius_mm) * (turn - std::tan(turn / 2));
  hold.lip_radius_mm = s.lip_radius_mm;
  hold.incut_deg = s.incut_deg;
  hold.edge_width_mm = s.width_mm - 2 * s.end_blend_mm;
  return hold;
}

ExactHold domeHold(double sphere_radius_mm, double protrusion_mm) {
  const double below = sphere_radius_mm - protrusion_mm;
  const double foot =
      below > 0 ? std::sqrt(sphere_radius_mm * sphere_radius_mm - below * below) : sphere_radius_mm;
  ExactHold hold("dome", aboveWall(translate(sphere(sphere_radius_mm), {0, 0, -below})),
                 AlignedBox3d(Vector3d(-foot, -foot, 0), Vector3d(foot, foot, protrusion_mm)));
  hold.protrusion_mm = protrusion_mm;
  hold.dome_radius_mm = sphere_radius_mm;
  return hold;
}

ExactHold pinchHold(double top_mm, double taper_deg, double protrusion_mm, double length_mm,
                    double crest_radius_mm) {
  const double foot = top_mm / 2 + protrusion_mm * std::tan(taper_deg / 2 * kRadian);
  const Profile section({{{-foot, 0}},
                         {{foot, 0}},
                         {{top_mm / 2, protrusion_mm}, crest_radius_mm},
                         {{-top_mm / 2, protrusion_mm}, crest_radius_mm}});
  // Extruded along x, then turned so that it runs along y.
  const Sdf bar = intersect(extrude(section, kFar_mm), slab(length_mm / 2), 8);
  ExactHold hold("pinch", aboveWall(rotate(bar, 90, {0, 0, 1})),
                 AlignedBox3d(Vector3d(-foot, -length_mm / 2, 0),
                              Vector3d(foot, length_mm / 2, protrusion_mm)));
  hold.protrusion_mm = protrusion_mm;
  hold.pinch_top_mm = top_mm;
  hold.pinch_taper_deg = taper_deg;
  return hold;
}

ExactHold pocketHold(double width_mm, double height_mm, double depth_mm, double lip_radius_mm) {
  const double r = height_mm / 2, top = depth_mm + 12, rim = r + 16;
  const double half = (width_mm - height_mm) / 2;
  const double pocket_y = rim;  // The bolt's place is the near end of the mound.
  const Profile mound({{{-kFar_mm, 0}}, {{rim + 26, 0}}, {{rim + 8, top}, 12}, {{-kFar_mm, top}}});
  // All above the top, and the opening that flares into it with the lip's arc.
  const Profile cutter({{{-kFar_mm, top - depth_mm}},
                        {{r, top - depth_mm}, 0.6 * r},
                        {{r, top}, lip_radius_mm},
                        {{kFar_mm, top}},
                        {{kFar_mm, top + kFar_mm}},
                        {{-kFar_mm, top + kFar_mm}}});
  const Sdf body = unite(translate(revolveStadium(mound, half), {0, pocket_y, 0}),
                         aboveWall(translate(sphere(60), {0, 0, 25 - 60})), 10);
  const Sdf opening = translate(revolveStadium(cutter, half), {0, pocket_y, 0});
  const double reach = rim + 26 + half;
  ExactHold hold("pocket", aboveWall(subtract(body, opening)),
                 AlignedBox3d(Vector3d(-reach, -50, 0), Vector3d(reach, pocket_y + rim + 28, top)));
  hold.protrusion_mm = top;
  hold.pocket_width_mm = width_mm;
  hold.pocket_height_mm = height_mm;
  hold.pocket_depth_mm = depth_mm;
  hold.lip_radius_mm = lip_radius_mm;
  return hold;
}

ExactHold withBolt(const ExactHold& hold, const ExactBolt& bolt) {
  const double bore = bolt.bore_mm / 2, recess = bolt.recess_mm / 2, z = bolt.seat_height_mm;
  const double rise = bolt.seat == ExactBolt::Seat::Flat
                          ? 0
                          : (recess - bore) / std::tan(bolt.cone_deg / 2 * kRadian);
  const Profile hole({{{-kFar_mm, -kFar_mm}},
                      {{bore, -kFar_mm}},
                      {{bore, z}},
                      {{recess, z + rise}},
                      {{recess, kFar_mm}},
                      {{-kFar_mm, kFar_mm}}});
  ExactHold out = hold;
  out.bolt = bolt;
  if (hold.dome_radius_mm && bolt.axis_mm.isZero()) {
    const double r = *hold.dome_radius_mm;
    out.protrusion_mm = hold.protrusion_mm - r + std::sqrt(r * r - recess * recess);
  }
  out.solid =
      subtract(hold.solid, translate(revolve(hole), {bolt.axis_mm.x(), bolt.axis_mm.y(), 0}));
  return out;
}

ExactHold holdNamed(const std::string& name) {
  const auto at = shelf().find(name);
  if (at != shelf().end()) return named(name, at->second());
  if (isArtefact(name)) return artefactNamed(name).body;
  std::string known;
  for (const auto& [n, make] : shelf()) known += (known.empty() ? "" : ", ") + n;
  throw std::invalid_argument("No shape is called \"" + name + "\"; there are " + known + ".");
}

std::vector<std::string> holdNames() {
  std::vector<std::string> names;
  for (const auto& [name, make] : shelf()) names.push_back(name);
  return names;
}

}  // namespace holdshelf
