// SPDX-License-Identifier: Apache-2.0
#include "mesh/bolt_seat.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <optional>

#include "mesh/circle_fit.h"

namespace holdshelf {
namespace {

// Bores from small wood screws to 5/8 in bolts; below the limit a bolt of 8 mm does not go through.
constexpr double kSmallestBore_mm = 3, kLargestBore_mm = 17, kScrewBelow_mm = 7.5,
                 kLargestRecess_mm = 45;
// Recesses for the heads and washers of bolts from M8 to 1/2 in.
constexpr double kLeastBlind_mm = 12, kMostBlind_mm = 32, kLeastBlindDepth_mm = 2;
constexpr double kStep_mm = 0.5;
constexpr double kMouth_mm = 1;  ///< Over the back, where a bore's edge may be broken or blurred.

struct Level {
  double height, radius, rms, radius_per_mm;
  Eigen::Vector2d centre;
};

/// The hole's rings as circles, from below up to where they stop being round or leave the axis.
std::vector<Level> roundLevels(const Hole& hole) {
  std::vector<Level> levels;
  for (const HoleRing& ring : hole) {
    const auto circle = fitCircle(ring.points_mm);
    if (!circle || circle->rms_mm > 0.05 * circle->radius_mm + 0.1) {
      if (levels.empty()) continue;
      break;
    }
    if (!levels.empty() &&
        (levels.front().centre - circle->centre_mm).norm() > 1 + 0.05 * circle->radius_mm)
      break;
    levels.push_back({ring.height_mm, circle->radius_mm, circle->rms_mm, circle->radius_per_mm,
                      circle->centre_mm});
  }
  return levels;
}

/// Whether two rings are of one bore.
bool sameBore(double radius_mm, double other_mm) {
  return std::abs(radius_mm - other_mm) < 0.2 + 0.04 * other_mm;
}

/// Takes off the bore's mouth where it is wider than what follows: its edge on the hold's back is
/// broken, or a coarse mesh cuts it off.
void dropMouth(std::vector<Level>& levels) {
  std::size_t wide = 0;
  while (wide + 1 < levels.size() && levels[wide].height < kMouth_mm &&
         levels[wide].radius > levels[wide + 1].radius &&
         !sameBore(levels[wide + 1].radius, levels[wide].radius))
    ++wide;
  levels.erase(levels.begin(), levels.begin() + static_cast<std::ptrdiff_t>(wide));
}

double medianRadius(const std::vector<Level>& levels, std::size_t from, std::size_t to) {
  std::vector<double> r;
  for (std::size_t i = from; i < to; ++i) r.push_back(levels[i].radius);
  std::nth_element(r.begin(), r.begin() + static_cast<std::ptrdiff_t>(r.size() / 2), r.end());
  return r[r.size() / 2];
}

/// What faces the climber between two radii of the axis, near a height.
struct Ledge {
  double height = 0;     ///< Mean over its area.
  double area = 0;       ///< Seen from straight before it.
  double sigma = 0;      ///< Mean of its vertices' own uncertainties; 0: they have none.
  double guesswork = 0;  ///< Share of its area.
};

Ledge ledgeAt(const TriangleMesh& mesh, const Eigen::Vector2d& axis, double inner, double outer,
              double near) {
  Ledge ledge;
  for (const Eigen::Vector3i& t : mesh.triangles) {
    const Eigen::Vector3d &a = mesh.vertices_mm[t[0]], &b = mesh.vertices_mm[t[1]],
                          &c = mesh.vertices_mm[t[2]];
    const Eigen::Vector3d middle = (a + b + c) / 3;
    if (std::abs(middle.z() - near) > 1.2) continue;
    const double r = (middle.head<2>() - axis).norm();
    if (r < inner || r > outer) continue;
    const Eigen::Vector3d normal = (b - a).cross(c - a);
    if (normal.z() < 0.9 * normal.norm()) continue;
    ledge.area += normal.z();
    ledge.height += normal.z() * middle.z();
    for (int k = 0; k < 3; ++k) {
      if (!mesh.sigma_mm.empty())
        ledge.sigma += normal.z() * static_cast<double>(mesh.sigma_mm[t[k]]) / 3;
      if (!mesh.guesswork.empty()) ledge.guesswork += normal.z() * (mesh.guesswork[t[k]] != 0) / 3;
    }
  }
  if (ledge.area <= 0) return {};
  ledge.height /= ledge.area;
  ledge.sigma /= ledge.area;
  ledge.guesswork /= ledge.area;
  ledge.area /= 2;
  return ledge;
}

std::optional<double> ledgeHeight(const TriangleMesh& mesh, const Eigen::Vector2d& axis,
                                  double inner, double outer, double near) {
  const Ledge ledge = ledgeAt(mesh, axis, inner, outer, near);
  if (ledge.area <= 0) return std::nullopt;
  return ledge.height;
}

void set(Measured* m, double value, double sigma) {
  m->set_value(value);
  m->set_sigma(sigma);
}

/// A cone's wall as a line of radius over height, over the levels strictly between bore and recess.
struct ConeWall {
  double slope = 0, at_bore = 0;  ///< mm radius a mm height; height where it meets the bore.
  int levels = 0;
};
ConeWall coneWall(const std::vector<Level>& levels, double bore, double recess) {
  double n = 0, z = 0, r = 0, zz = 0, zr = 0;
  for (const Level& level : levels) {
    if (level.radius < bore + 0.12 * (recess - bore) ||
        level.radius > recess - 0.12 * (recess - bore))
      continue;
    n += 1, z += level.height, r += level.radius, zz += level.height * level.height,
        zr += level.height * level.radius;
  }
  ConeWall wall;
  wall.levels = static_cast<int>(n);
  const double det = n * zz - z * z;
  if (n < 2 || det <= 0) return wall;
  wall.slope = (n * zr - z * r) / det;
  if (wall.slope > 0) wall.at_bore = (bore - (r - wall.slope * z) / n) / wall.slope;
  return wall;
}

std::optional<BoltSeat> seatOf(SectionCutter& cutter, const TriangleMesh& mesh,
                               const PlaneFamily& axes, const Hole& hole,
                               const MeshPrecision& precision, CloseLooks& looks) {
  std::vector<Level> levels = roundLevels(hole);
  dropMouth(levels);
  if (levels.size() < 3 || levels.front().height > 3) return std::nullopt;
  std::size_t bore_end = 1;
  while (bore_end < levels.size() && sameBore(levels[bore_end].radius, levels[0].radius))
    ++bore_end;
  const double bore = medianRadius(levels, 0, bore_end);
  if (2 * bore < kSmallestBore_mm || 2 * bore > kLargestBore_mm || bore_end < 2)
    return std::nullopt;

  looks.take();
  BoltSeat seat;
  const Eigen::Vector2d axis = levels[bore_end / 2].centre;
  seat.mutable_axis_mm()->set_x(axis.x());
  seat.mutable_axis_mm()->set_y(axis.y());
  seat.set_screw(2 * bore < kScrewBelow_mm);
  seat.set_kind(BoltSeat::FLAT);
  const double sigma = precision.sigma_mm, mesh_mm = precision.ofResolution_mm();
  const double chord = precision.resolution_mm * precision.resolution_mm / (8 * bore);
  const auto setHeight = [&](double height, double own_sigma) {
    set(seat.mutable_seat_height_mm(), height, std::hypot(own_sigma, precision.wall_mm));
  };
  set(seat.mutable_bore_mm(), 2 * bore,
      std::hypot(2 * 1.4 * sigma * levels[0].radius_per_mm, chord + 0.01));

  std::size_t last = bore_end;
  while (last < levels.size() && 2 * levels[last].radius <= kLargestRecess_mm) ++last;
  if (last - bore_end < 2 || levels[last - 1].radius < 1.15 * bore) {
    // No recess: the head bears on the rim.
    const double rim = rimHeight(cutter, axes, hole, kStep_mm);
    const double up = ledgeHeight(mesh, axis, bore + 0.3, bore + 5, rim).value_or(rim);
    setHeight(up, std::hypot(2 * sigma, 0.1));
    return seat;
  }
  const double recess = levels[last - 1].radius;
  set(seat.mutable_recess_mm(), 2 * recess,
      std::hypot(2 * 1.4 * sigma * levels[last - 1].radius_per_mm, chord + 0.02));
  const ConeWall wall = coneWall(levels, bore, recess);
  if (wall.levels >= 3 && wall.slope > 0.1 && wall.slope < 5) {
    seat.set_kind(BoltSeat::CONE);
    setHeight(wall.at_bore, std::hypot(sigma, std::hypot(0.05, mesh_mm)));
    set(seat.mutable_cone_deg(), 2 * std::atan(wall.slope) * 180 / M_PI,
        std::hypot(0.5, 60 * sigma / std::sqrt(wall.levels)));
    return seat;
  }
  // Above a flat seat the recess is a cylinder; its rim, rounded or broken, is not its width.
  set(seat.mutable_recess_mm(), 2 * medianRadius(levels, bore_end + 1, last),
      seat.recess_mm().sigma());
  const double edge = 0.5 * (levels[bore_end - 1].height + levels[bore_end].height),
               width = 0.5 * seat.recess_mm().value() - bore;
  const auto ledge = ledgeHeight(mesh, axis, bore + 0.2 * width, recess - 0.2 * width, edge);
  setHeight(ledge.value_or(edge), ledge ? std::hypot(0.3 * sigma, mesh_mm) : kStep_mm / 3.46);
  return seat;
}

/// A recess whose bore does not show, as in scans from photos: round and upright like no opening
/// for fingers, with a sharp rim and a flat floor.
std::optional<BoltSeat> blindSeatOf(const TriangleMesh& mesh, const Hole& hole,
                                    const MeshPrecision& precision, CloseLooks& looks) {
  std::vector<Level> levels = roundLevels(hole);
  // Cut off where the recess's wall ends: in a slanted face the rim is low on one side only.
  if (levels.size() < 2 * kLeastBlindDepth_mm) return std::nullopt;
  const double wall = medianRadius(levels, 0, levels.size());
  const auto steep = std::count_if(levels.begin(), levels.end(), [&](const Level& level) {
    return std::abs(level.radius - wall) < 0.35 + 0.03 * wall;
  });
  if (2 * wall < kLeastBlind_mm || 2 * wall > kMostBlind_mm ||
      static_cast<double>(steep) < 0.8 * static_cast<double>(levels.size()) ||
      levels.back().radius > wall + 0.8)
    return std::nullopt;
  const Eigen::Vector2d axis = levels[levels.size() / 2].centre;
  const double bears = 0.85 * wall;
  looks.take();
  const Ledge ledge = ledgeAt(mesh, axis, 0, bears, levels.front().height - kStep_mm / 2);
  if (ledge.area < 0.85 * M_PI * bears * bears) return std::nullopt;

  BoltSeat seat;
  seat.mutable_axis_mm()->set_x(axis.x());
  seat.mutable_axis_mm()->set_y(axis.y());
  seat.set_kind(BoltSeat::FLAT);
  seat.set_guesswork_share(ledge.guesswork);
  const double sigma = precision.sigma_mm;
  set(seat.mutable_recess_mm(), 2 * wall,
      std::hypot(2 * 1.4 * sigma * levels.front().radius_per_mm,
                 precision.resolution_mm * precision.resolution_mm / (8 * wall) + 0.02));
  // The floor errs as a whole.
  set(seat.mutable_seat_height_mm(), ledge.height,
      std::hypot(ledge.sigma > 0 ? ledge.sigma : sigma,
                 std::hypot(precision.ofResolution_mm(), precision.wall_mm)));
  return seat;
}

/// Bolts before recesses without a bore before screws.
int rankOf(const BoltSeat& seat) { return seat.screw() ? 2 : !seat.has_bore_mm(); }

}  // namespace

std::vector<BoltSeat> findBoltSeats(SectionCutter& cutter, const TriangleMesh& mesh,
                                    const MeshPrecision& precision) {
  std::vector<BoltSeat> seats;
  const PlaneFamily axes = planesAcross(Eigen::Vector3d::UnitZ());
  CloseLooks looks(mesh.triangles.size());
  for (const Hole& hole :
       findHoles(cutter, mesh, axes, kStep_mm, kSmallestBore_mm, kLargestRecess_mm))
    if (const auto seat = seatOf(cutter, mesh, axes, hole, precision, looks))
      seats.push_back(*seat);
    else if (const auto blind = blindSeatOf(mesh, hole, precision, looks))
      seats.push_back(*blind);
  std::stable_sort(seats.begin(), seats.end(), [](const BoltSeat& a, const BoltSeat& b) {
    if (rankOf(a) != rankOf(b)) return rankOf(a) < rankOf(b);
    return std::max(a.bore_mm().value(), a.recess_mm().value() * !a.has_bore_mm()) >
           std::max(b.bore_mm().value(), b.recess_mm().value() * !b.has_bore_mm());
  });
  return seats;
}

double filledRadius(const BoltSeat& seat) {
  return 0.5 * std::max(seat.recess_mm().value(), 1.6 * seat.bore_mm().value()) + 1.5;
}

}  // namespace holdshelf
