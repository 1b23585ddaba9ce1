// SPDX-License-Identifier: Apache-2.0
#include "mesh/pocket.h"

#include <tbb/parallel_for.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

namespace holdshelf {
namespace {

constexpr double kStep_mm = 1, kTilt_deg = 40, kShallowest_mm = 8, kLargest_mm = 90;

bool isBolt(const Eigen::Vector3d& at, const std::vector<BoltSeat>& seats) {
  for (const BoltSeat& seat : seats)
    if ((at.head<2>() - Eigen::Vector2d(seat.axis_mm().x(), seat.axis_mm().y())).norm() <
        filledRadius(seat))
      return true;
  return false;
}

/// Lowest height of the surface below the lowest ring and within it.
double floorHeight(const TriangleMesh& mesh, const PlaneFamily& axes, const HoleRing& ring) {
  const double radius = 0.35 * std::sqrt(ring.area_mm2 / M_PI);
  std::vector<double> heights;
  for (const Eigen::Vector3d& v : mesh.vertices_mm) {
    const double h = axes.normal.dot(v);
    if (h > ring.height_mm + 0.5 || h < ring.height_mm - 1.5 * kStep_mm) continue;
    if ((Eigen::Vector2d(axes.right.dot(v), axes.up.dot(v)) - ring.centre_mm).norm() <
        std::max(radius, 2.0))
      heights.push_back(h);
  }
  if (heights.size() < 3) return ring.height_mm - 0.5 * kStep_mm;
  const auto middle = heights.begin() + static_cast<std::ptrdiff_t>(heights.size() / 2);
  std::nth_element(heights.begin(), middle, heights.end());
  return *middle;
}

struct Opening {
  double width = 0, height = 0;
  Eigen::Vector2d pull;  ///< In the cut's plane.
};

/// Shortest side along the pull; where no side is clearly shortest, the pull is down.
Opening openingOf(const HoleRing& ring, const PlaneFamily& axes) {
  Eigen::Vector2d down(-axes.right.y(), -axes.up.y());
  down = down.norm() > 0.1 ? down.normalized() : Eigen::Vector2d(0, -1);
  double shortest = std::numeric_limits<double>::infinity(), longest = 0;
  Eigen::Vector2d pull = down;
  for (int deg = 0; deg < 180; deg += 3) {
    const Eigen::Vector2d d(std::cos(deg * M_PI / 180), std::sin(deg * M_PI / 180));
    const double across = ring.across(d);
    longest = std::max(longest, across);
    if (across < shortest) {
      shortest = across;
      pull = d.dot(down) < 0 ? Eigen::Vector2d(-d) : d;
    }
  }
  if (longest < 1.1 * shortest) pull = down;
  Opening o;
  o.pull = pull;
  o.height = ring.across(pull);
  o.width = ring.across({-pull.y(), pull.x()});
  return o;
}

/// A ring's width along a direction, between its sides and not between their luckiest points.
double inside(const HoleRing& ring, const Eigen::Vector2d& way, const MeshPrecision& precision) {
  std::vector<double> along, back;
  for (const Eigen::Vector2d& p : ring.points_mm) {
    along.push_back(way.dot(p));
    back.push_back(-way.dot(p));
  }
  return precision.farthest(std::move(along)) + precision.farthest(std::move(back));
}

double median(std::vector<double> v) {
  std::nth_element(v.begin(), v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2), v.end());
  return v[v.size() / 2];
}

void set(Measured* m, double value, double sigma) {
  m->set_value(value);
  m->set_sigma(sigma);
}

std::optional<Pocket> pocketOf(SectionCutter& cutter, const TriangleMesh& mesh,
                               const PlaneFamily& axes, const Hole& hole,
                               const MeshPrecision& precision, const ReachField& reach,
                               const std::vector<BoltSeat>& seats, double finger_mm,
                               CloseLooks& looks) {
  if (hole.size() < 3) return std::nullopt;
  const HoleRing& ring = hole[hole.size() / 2];
  const auto inHold = [&](const Eigen::Vector2d& p, double h) {
    return Eigen::Vector3d(axes.right * p.x() + axes.up * p.y() + axes.normal * h);
  };
  const Eigen::Vector3d middle = inHold(ring.centre_mm, ring.height_mm);
  if (middle.z() <= 0 || isBolt(middle, seats)) return std::nullopt;
  // A finger gets in when its ball touches the walls half way down.
  double gap = std::numeric_limits<double>::infinity();
  for (const Eigen::Vector2d& p : ring.points_mm)
    gap = std::min(gap, reach.gap_mm(inHold(p, ring.height_mm)));
  if (gap > 1.2 * reach.spacing_mm()) return std::nullopt;

  looks.take();
  const double rim = rimHeight(cutter, axes, hole, kStep_mm),
               floor = floorHeight(mesh, axes, hole.front());
  if (rim - floor < kShallowest_mm) return std::nullopt;
  const Opening opening = openingOf(ring, axes);
  std::vector<double> widths, heights;
  for (std::size_t i = hole.size() / 3; i <= std::min(hole.size() - 1, 2 * hole.size() / 3); ++i) {
    widths.push_back(inside(hole[i], {-opening.pull.y(), opening.pull.x()}, precision));
    heights.push_back(inside(hole[i], opening.pull, precision));
  }
  Pocket pocket;
  const double width = median(widths), height = median(heights);
  const int fingers = static_cast<int>(std::floor(width / finger_mm + 0.05));
  if (fingers < 1 || fingers > 3) return std::nullopt;
  pocket.mutable_centre_mm()->set_x(middle.x());
  pocket.mutable_centre_mm()->set_y(middle.y());
  const Eigen::Vector3d pull = axes.right * opening.pull.x() + axes.up * opening.pull.y();
  double direction = std::atan2(pull.y(), pull.x()) * 180 / M_PI;
  pocket.set_direction_deg(direction < 0 ? direction + 360 : direction);
  const double across = std::hypot(1.4 * 1.5 * precision.sigma_mm, precision.ofResolution_mm());
  set(pocket.mutable_width_mm(), width, across);
  set(pocket.mutable_height_mm(), height, across);
  set(pocket.mutable_depth_mm(), rim - floor, std::hypot(across, 0.05));
  pocket.set_fingers(fingers);
  pocket.set_axis_tilt_deg(std::acos(std::clamp(axes.normal.z(), -1.0, 1.0)) * 180 / M_PI);
  return pocket;
}

}  // namespace

std::vector<Pocket> findPockets(const TriangleMesh& mesh, const MeshTopology& topology,
                                const MeshPrecision& precision, const ReachField& reach,
                                const std::vector<BoltSeat>& seats, double finger_mm) {
  std::vector<Eigen::Vector3d> directions = {Eigen::Vector3d::UnitZ()};
  for (int i = 0; i < 6; ++i) {
    const double around = i * M_PI / 3, tilt = kTilt_deg * M_PI / 180;
    directions.emplace_back(std::sin(tilt) * std::sin(around), std::sin(tilt) * std::cos(around),
                            std::cos(tilt));
  }
  std::vector<std::vector<Pocket>> found(directions.size());
  tbb::parallel_for(std::size_t{0}, directions.size(), [&](std::size_t i) {
    SectionCutter cutter(mesh, topology);
    CloseLooks looks(mesh.triangles.size());
    const PlaneFamily axes = planesAcross(directions[i]);
    for (const Hole& hole : findHoles(cutter, mesh, axes, kStep_mm, 0.85 * finger_mm, kLargest_mm))
      if (auto pocket =
              pocketOf(cutter, mesh, axes, hole, precision, reach, seats, finger_mm, looks))
        found[i].push_back(std::move(*pocket));
  });
  std::vector<Pocket> pockets;
  for (const std::vector<Pocket>& of_direction : found) {
    for (const Pocket& candidate : of_direction) {
      const Pocket* pocket = &candidate;
      // The same pocket shows in several directions; it is deepest along its own.
      Pocket* same = nullptr;
      for (Pocket& p : pockets)
        if (std::hypot(p.centre_mm().x() - pocket->centre_mm().x(),
                       p.centre_mm().y() - pocket->centre_mm().y()) <
            0.8 * std::max(p.width_mm().value(), p.height_mm().value()))
          same = &p;
      if (!same)
        pockets.push_back(*pocket);
      else if (pocket->depth_mm().value() > 1.1 * same->depth_mm().value())
        *same = *pocket;
    }
  }
  return pockets;
}

}  // namespace holdshelf
