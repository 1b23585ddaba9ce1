// SPDX-License-Identifier: Apache-2.0
#include "mesh/hole.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <unordered_map>

#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

// Fewer rings are where a plane lies within the roughness of a face that is parallel to it.
constexpr std::size_t kLeastRings = 3;
// Of one place and height. Rings of one cut lie beside one another, and the smallest that are asked
// for find room 364 times in three by three cells.
constexpr std::size_t kMostBeside = 1000;
// Some minutes. A volume of five million triangles may have 20 000 bolts, recesses and pockets.
constexpr double kMostWork = 1e11;

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

/// Puts rings on top of one another, cut by cut from below.
class RingChains {
 public:
  explicit RingChains(double largest_mm)
      : cell_mm_(std::max(1.0, 0.3 * largest_mm)) {}  // No ring continues one farther away.

  /// @param lowest_mm  What ends below it goes on no more.
  void beginCut(double lowest_mm) {
    cells_.clear();
    const auto ends = [&](std::size_t i) {
      if (holes_[i].back().height_mm > lowest_mm) return false;
      if (holes_[i].size() < kLeastRings) Hole().swap(holes_[i]);
      return true;
    };
    open_.erase(std::remove_if(open_.begin(), open_.end(), ends), open_.end());
    for (const std::size_t i : open_) cells_[cellOf(holes_[i].back().centre_mm)].push_back(i);
  }

  /// @throws BadInput  A thousand lie over one another.
  void add(HoleRing ring) {
    if (const auto below = lastBelow(ring)) return holes_[*below].push_back(std::move(ring));
    open_.push_back(holes_.size());
    holes_.push_back({std::move(ring)});
  }

  std::vector<Hole> takeHoles() {
    beginCut(std::numeric_limits<double>::infinity());
    holes_.erase(
        std::remove_if(holes_.begin(), holes_.end(), [](const Hole& hole) { return hole.empty(); }),
        holes_.end());
    return std::move(holes_);
  }

 private:
  using Cell = std::uint64_t;

  Cell cellOf(const Eigen::Vector2d& at_mm, int right = 0, int up = 0) const {
    const auto along = [&](double mm, int by) {
      return static_cast<std::uint32_t>(static_cast<std::int64_t>(std::floor(mm / cell_mm_)) + by);
    };
    return Cell{along(at_mm.x(), right)} << 32 | along(at_mm.y(), up);
  }

  /// Of those that this ring continues the one that began last.
  std::optional<std::size_t> lastBelow(const HoleRing& ring) const {
    std::optional<std::size_t> last;
    std::size_t beside = 0;
    for (int right = -1; right <= 1; ++right)
      for (int up = -1; up <= 1; ++up) {
        const auto cell = cells_.find(cellOf(ring.centre_mm, right, up));
        if (cell == cells_.end()) continue;
        beside += cell->second.size();
        if (beside > kMostBeside)
          throw BadInput(
              "Hundreds of holes and hollows of the mesh lie over one another, as no "
              "hold's do; keep one hold and its surface only.");
        for (const std::size_t i : cell->second)
          if (holes_[i].back().height_mm < ring.height_mm && continues(holes_[i].back(), ring))
            last = std::max(last.value_or(i), i);
      }
    return last;
  }

  double cell_mm_;
  std::vector<Hole> holes_;                                   ///< In the order they began.
  std::vector<std::size_t> open_;                             ///< Of them, that may go on.
  std::unordered_map<Cell, std::vector<std::size_t>> cells_;  ///< By where they end.
};

}  // namespace

CloseLooks::CloseLooks(std::size_t triangles)
    : most_(static_cast<std::size_t>(kMostWork /
                                     static_cast<double>(std::max<std::size_t>(triangles, 1)))) {}

void CloseLooks::take() {
  if (taken_++ < most_) return;
  throw BadInput("The mesh has more than " + std::to_string(most_) +
                 " holes and hollows as large as a bolt's or a finger's; keep one hold and its "
                 "surface only, or thin the mesh out.");
}

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
  RingChains chains(largest_mm);
  cutter.cut(planes, [&](int k, const SectionLines& lines) {
    const double height = planes.offset(k);
    chains.beginCut(height - 1.5 * planes.step_mm);
    for (HoleRing& ring : ringsOf(lines, height, smallest_mm, largest_mm))
      chains.add(std::move(ring));
  });
  return chains.takeHoles();
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
