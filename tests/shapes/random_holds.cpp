// SPDX-License-Identifier: Apache-2.0
#include "tests/shapes/random_holds.h"

#include <algorithm>
#include <stdexcept>

namespace holdshelf {
namespace {

using Eigen::Vector3d;

struct Draw {
  std::mt19937& random;

  double between(double from, double to) {
    return std::uniform_real_distribution<double>(from, to)(random);
  }
};

EdgeSpec edge(Draw& draw) {
  EdgeSpec spec;
  spec.depth_mm = draw.between(10, 30);
  spec.lip_radius_mm = draw.between(2, 6);
  spec.incut_deg = draw.between(-20, 20);
  spec.width_mm = draw.between(50, 130);
  spec.protrusion_mm = spec.depth_mm + draw.between(12, 25);
  return spec;
}

/// No caps of spheres: up to size they differ in one number only, so that among a hundred drawn
/// ones several are one shape.
ExactHold plain(Draw& draw) {
  switch (draw.random() % 3) {
    case 0:
      return edgeHold(edge(draw));
    case 1:
      return pinchHold(draw.between(20, 45), draw.between(5, 35), draw.between(30, 60),
                       draw.between(50, 110), draw.between(3, 8));
    default:
      return pocketHold(draw.between(22, 60), draw.between(18, 30), draw.between(12, 28),
                        draw.between(2, 5));
  }
}

/// Families that no threshold was chosen on.
ExactHold rich(Draw& draw) {
  ExactHold hold = domeHold(draw.between(40, 75), draw.between(25, 38));
  switch (draw.random() % 4) {
    case 0:  // A bowl: a mound with a dent behind its crest.
      hold.solid = subtract(
          hold.solid,
          translate(sphere(draw.between(12, 22)), {draw.between(-12, 12), draw.between(4, 16), 36}),
          6);
      break;
    case 1: {  // Two pieces that grew together.
      const double away = draw.between(10, 25);
      hold.solid = unite(
          hold.solid,
          translate(roundedBox({draw.between(10, 25), draw.between(10, 25), draw.between(20, 32)},
                               draw.between(4, 9)),
                    {away, draw.between(-15, 15), 0}),
          8);
      break;
    }
    case 2:  // A bar over a mound.
      hold.solid =
          unite(hold.solid,
                capsule({-draw.between(15, 45), draw.between(-10, 10), draw.between(14, 28)},
                        {draw.between(15, 45), draw.between(-10, 10), draw.between(14, 28)},
                        draw.between(9, 15)),
                10);
      break;
    default: {  // A ledge of its own.
      EdgeSpec spec = edge(draw);
      spec.front_mm = draw.between(30, 55);
      hold = edgeHold(spec);
    }
  }
  // Bumps on a solid that goes on below the wall, so that its back stays flat.
  const Sdf above = hold.solid;
  const Sdf deep(
      [above](const Vector3d& p) { return above(Vector3d(p.x(), p.y(), std::max(p.z(), 0.5))); });
  hold.solid = intersect(bumps(deep, draw.between(0.8, 2), draw.between(32, 60), draw.random()),
                         halfSpace(-Vector3d::UnitZ(), 0));
  hold.box_mm.extend(hold.box_mm.min() - Vector3d(50, 50, 0));
  hold.box_mm.extend(hold.box_mm.max() + Vector3d(50, 50, 30));
  return hold;
}

}  // namespace

ExactHold drawHold(std::mt19937& random, Family family) {
  Draw draw{random};
  // Some drawn numbers make no solid (arcs that overlap): those are drawn again.
  for (;;) try {
      return family == Family::Rich ? rich(draw) : plain(draw);
    } catch (const std::invalid_argument&) {
    }
}

}  // namespace holdshelf
