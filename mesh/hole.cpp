// SPDX-License-Identifier: Apache-2.0
#include "mesh/hole.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <limits>
#include <string>

#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

// A hold has a few bolts and screws, and a rough one some dozens of pits that a plane cuts as
// rings.
constexpr std::size_t kMostHoles = 1000;

HoleRing ringOf(const SectionLine& line, double height) {
  HoleRing ring;
  ring.height_mm = height;
  double twice = 0;
  Eigen::Vector2d moment = Eigen::Vector2d::Zero();
  const Eigen::Vector2d origin = line.points.front().at_mm;
  for (std::size_t i = 0; i < line.points.size(); ++i) {
    const Eigen::Vector2d a = line.points[i].at_mm - origin,
                          b = line.points[(i + 1) % line.points.size()].at_mm - origin;
    const double cross = a.x() * b.y() - a.y() * b.x();
    twice += cross;
    moment += cross * (a + b);
    ring.points_mm.push_back(line.points[i].at_mm);
  }
  ring.area_mm2 = twice / 2;
  ring.centre_mm =
      origin + (twice != 0 ? Eigen::Vector2d(moment / (3 * twice)) : Eigen::Vector2d::Zero());
  return ring;
}

std::vector<HoleRing> ringsOf(const SectionLines& lines, double height, double smallest,
                              double largest) {
  std::vector<HoleRing> rings;
  for (const SectionLine& line : lines) {
    if (!line.closed || line.points.size() < 5) continue;
    HoleRing ring = ringOf(line, height);
    // Around solid the way is clockwise, around a hole in it the other way.
    if (ring.area_mm2 < 0.5 * smallest * smallest) continue;
    const double x = ring.across(Eigen::Vector2d::UnitX()),
                 y = ring.across(Eigen::Vector2d::UnitY());
    if (std::max(x, y) <= largest) rings.push_back(std::move(ring));
  }
  return rings;
}

bool continues(const HoleRing& below, const HoleRing& ring) {
  const double small = std::sqrt(std::min(below.area_mm2, ring.area_mm2) / M_PI);
  return (below.centre_mm - ring.centre_mm).norm() < std::max(1.0, 0.5 * small);
}

}  // namespace

double HoleRing::across(const Eigen::Vector2d& direction) const {
  double low = std::numeric_limits<double>::infinity(), high = -low;
  for (const Eigen::Vector2d& p : points_mm) {
    low = std::min(low, p.dot(direction));
    high = std::max(high, p.dot(direction));
  }
  return high - low;
}

PlaneFamily planesAcross(const Eigen::Vector3d& axis) {
  PlaneFamily planes;
  planes.normal = axis.normalized();
  // Along z the cut's axes are the hold's own x and y.
  planes.right = Eigen::Vector3d::UnitY().cross(planes.normal).normalized();
  planes.up = planes.normal.cross(planes.right);
  return planes;
}

std::vector<Hole> findHoles(SectionCutter& cutter, const TriangleMesh& mesh,
                            const PlaneFamily& axes, double step_mm, double smallest_mm,
                            double largest_mm) {
  PlaneFamily planes = axes;
  const auto [low, high] = reachAlong(mesh, planes.normal);
  planes.step_mm = std::max(step_mm, (high - low) / 400);
  planes.first_mm = low + 0.5 * planes.step_mm;
  planes.count = std::max(1, static_cast<int>((high - low) / planes.step_mm));
  std::vector<Hole> holes;
  cutter.cut(planes, [&](int k, const SectionLines& lines) {
    const double height = planes.offset(k);
    for (HoleRing& ring : ringsOf(lines, height, smallest_mm, largest_mm)) {
      Hole* below = nullptr;
      for (Hole& hole : holes)
        if (hole.back().height_mm < height &&
            height - hole.back().height_mm < 1.5 * planes.step_mm && continues(hole.back(), ring))
          below = &hole;
      if (below) {
        below->push_back(std::move(ring));
        continue;
      }
      if (holes.size() == kMostHoles)
        throw BadInput(
            "The mesh has more than " + std::to_string(kMostHoles) +
            " holes and hollows, which no hold has; keep one hold and its surface only.");
      holes.push_back({std::move(ring)});
    }
  });
  return holes;
}

double rimHeight(SectionCutter& cutter, const PlaneFamily& axes, const Hole& hole, double step_mm) {
  const HoleRing& top = hole.back();
  double closed = top.height_mm, open = closed + step_mm;
  for (int i = 0; i < 5; ++i) {
    const double middle = 0.5 * (closed + open);
    bool still = false;
    for (const HoleRing& ring : ringsOf(cutter.cutOne(axes, middle), middle, 1, 1e9))
      still = still || (continues(top, ring) && ring.area_mm2 < 4 * top.area_mm2);
    (still ? closed : open) = middle;
  }
  return 0.5 * (closed + open);
}

}  // namespace holdshelf
