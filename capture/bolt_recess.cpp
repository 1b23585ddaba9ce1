// SPDX-License-Identifier: Apache-2.0
#include "capture/bolt_recess.h"

#include <algorithm>
#include <cmath>
#include <cstring>

#include "capture/median.h"
#include "mesh/circle_fit.h"
#include "mesh/hole.h"
#include "mesh/mesh_topology.h"
#include "mesh/ray_scene.h"
#include "mesh/section.h"

namespace holdshelf {
namespace {

using Eigen::Vector2d;
using Eigen::Vector3d;

// Heads and washers of bolts from M8 to 1/2 in, with some room.
constexpr double kSmallest_mm = 11, kLargest_mm = 32;
constexpr double kStep_mm = 0.5;      ///< Between cuts.
constexpr double kSteadiest_mm = 2;   ///< So high at least the wall stands upright.
constexpr double kSameRing_mm = 0.4;  ///< Radius and centre of rings of one wall.
constexpr double kBeside_mm = 0.6;    ///< The rim is looked at so far outside of the wall.
constexpr double kRounded_mm = 3;     ///< Below the rim a wall may lean, from smoothing.
constexpr int kRimPlaces = 72;

struct Ring {
  double height, radius;
  Vector2d centre;
};

/// The longest upright, round part of a hole.
std::vector<Ring> uprightPart(const Hole& hole) {
  std::vector<Ring> best, run;
  for (const HoleRing& ring : hole) {
    const auto circle = fitCircle(ring.points_mm);
    const bool round = circle && circle->rms_mm < 0.2 + 0.02 * circle->radius_mm;
    const bool same = round && !run.empty() &&
                      std::abs(circle->radius_mm - run.front().radius) < kSameRing_mm &&
                      (circle->centre_mm - run.front().centre).norm() < kSameRing_mm;
    if (!same) run.clear();
    if (round) run.push_back({ring.height_mm, circle->radius_mm, circle->centre_mm});
    if (run.size() > best.size()) best = run;
  }
  return best;
}

/// Heights of the surface around a circle, from straight above.
std::vector<double> heightsAround(const RayScene& scene, const Vector2d& centre, double radius,
                                  double above) {
  std::vector<double> heights;
  for (int k = 0; k < kRimPlaces; ++k) {
    const double a = 2 * M_PI * k / kRimPlaces;
    const Vector3d from(centre.x() + radius * std::cos(a), centre.y() + radius * std::sin(a),
                        above);
    const auto hit = scene.firstHit(from, -Vector3d::UnitZ());
    heights.push_back(hit ? above - hit->distance : 0);
  }
  return heights;
}

}  // namespace

std::vector<Recess> findRecesses(const TriangleMesh& mesh) {
  std::vector<Recess> recesses;
  if (mesh.triangles.empty()) return recesses;
  const MeshTopology topology = buildTopology(mesh);
  SectionCutter cutter(mesh, topology);
  const RayScene scene(mesh);
  const double above = reachAlong(mesh, Vector3d::UnitZ()).second + 10;
  for (const Hole& hole : findHoles(cutter, mesh, planesAcross(Vector3d::UnitZ()), kStep_mm,
                                    kSmallest_mm, kLargest_mm)) {
    const std::vector<Ring> wall = uprightPart(hole);
    if (wall.empty() || wall.back().height - wall.front().height < kSteadiest_mm) continue;
    Recess recess;
    std::vector<double> x, y, r;
    for (const Ring& ring : wall) {
      x.push_back(ring.centre.x());
      y.push_back(ring.centre.y());
      r.push_back(ring.radius);
    }
    recess.axis_mm = {medianOf(x), medianOf(y)};
    recess.radius_mm = medianOf(r);
    recess.rim_mm = heightsAround(scene, recess.axis_mm, recess.radius_mm + kBeside_mm, above);
    // Steep up to the rim: an opening for fingers is rounded there.
    if (recess.lowestRim_mm() - wall.back().height > kRounded_mm) continue;
    recesses.push_back(std::move(recess));
  }
  return recesses;
}

std::vector<BoltRecess> findBoltRecesses(const TriangleMesh& mesh, const std::vector<View>& views) {
  std::vector<BoltRecess> found;
  const std::vector<Recess> recesses = findRecesses(mesh);
  if (recesses.empty()) return found;
  const RayScene scene(mesh);
  for (const Recess& recess : recesses)
    found.push_back({recess, findSeatFloor(recess, views, scene)});
  return found;
}

void carveRecesses(VoxelGrid& grid, const std::vector<BoltRecess>& recesses) {
  for (const BoltRecess& bolt : recesses) {
    if (!bolt.floor) continue;
    const double reach = bolt.recess.radius_mm + 3 * grid.cell_mm;
    const auto nodeAt = [&](double along_mm, int axis) {
      return std::clamp(
          static_cast<int>(std::lround((along_mm - grid.origin_mm[axis]) / grid.cell_mm)), 0,
          grid.nodes[axis] - 1);
    };
    const Vector2d axis = bolt.recess.axis_mm;
    for (int z = nodeAt(bolt.floor->height_mm - 3 * grid.cell_mm, 2); z < grid.nodes.z(); ++z)
      for (int y = nodeAt(axis.y() - reach, 1); y <= nodeAt(axis.y() + reach, 1); ++y)
        for (int x = nodeAt(axis.x() - reach, 0); x <= nodeAt(axis.x() + reach, 0); ++x) {
          const Vector3d at = grid.position_mm(x, y, z);
          const double free = std::min(bolt.recess.radius_mm - (at.head<2>() - axis).norm(),
                                       at.z() - bolt.floor->height_mm);
          float& value = grid.value[grid.index(x, y, z)];
          const auto most = static_cast<float>(3 * grid.cell_mm);
          value = std::max(value, std::clamp(static_cast<float>(free), -most, most));
        }
  }
}

void settleFloors(TriangleMesh& mesh, const std::vector<BoltRecess>& recesses,
                  const std::vector<View>& views) {
  constexpr double kCorner_mm = 0.4, kOff_mm = 2;
  for (const BoltRecess& bolt : recesses) {
    if (!bolt.floor) continue;
    std::vector<std::size_t> floor;
    for (std::size_t v = 0; v < mesh.vertices_mm.size(); ++v) {
      Vector3d& p = mesh.vertices_mm[v];
      if ((p.head<2>() - bolt.recess.axis_mm).norm() > bolt.recess.radius_mm - kCorner_mm ||
          std::abs(p.z() - bolt.floor->height_mm) > kOff_mm)
        continue;
      p.z() = bolt.floor->height_mm;
      floor.push_back(v);
    }
    const RayScene scene(mesh);
    for (std::size_t v : floor) {
      int seen = 0;
      for (const View& view : views)
        seen += seenInRecess(bolt.recess, scene, mesh.vertices_mm[v] + Vector3d(0, 0, 0.1),
                             view.camera.centre_H_mm());
      mesh.sigma_mm[v] = static_cast<float>(bolt.floor->sigma_mm);
      mesh.guesswork[v] = seen < 2;
    }
  }
}

std::string storedRecesses(const std::vector<BoltRecess>& recesses) {
  std::vector<double> numbers;
  for (const BoltRecess& b : recesses) {
    const SeatFloor floor = b.floor.value_or(SeatFloor{});
    numbers.insert(numbers.end(),
                   {b.recess.axis_mm.x(), b.recess.axis_mm.y(), b.recess.radius_mm,
                    double(b.floor.has_value()), floor.height_mm, floor.sigma_mm, floor.agreement,
                    floor.seen_share, double(floor.photos), double(b.recess.rim_mm.size())});
    numbers.insert(numbers.end(), b.recess.rim_mm.begin(), b.recess.rim_mm.end());
  }
  return {reinterpret_cast<const char*>(numbers.data()), numbers.size() * sizeof(double)};
}

std::optional<std::vector<BoltRecess>> restoredRecesses(const std::string& bytes) {
  std::vector<double> numbers(bytes.size() / sizeof(double));
  if (numbers.size() * sizeof(double) != bytes.size()) return std::nullopt;
  if (!numbers.empty()) std::memcpy(numbers.data(), bytes.data(), bytes.size());
  std::vector<BoltRecess> recesses;
  constexpr std::size_t kHead = 10;
  for (std::size_t at = 0; at < numbers.size();) {
    if (at + kHead > numbers.size()) return std::nullopt;
    const double* n = numbers.data() + at;
    const double rims_left = double(numbers.size() - at - kHead);
    if (!(n[9] >= 0 && n[9] <= rims_left)) return std::nullopt;
    if (!(n[8] >= 0 && n[8] < 1e6)) return std::nullopt;  // Photos.
    const auto rims = static_cast<std::size_t>(n[9]);
    BoltRecess bolt;
    bolt.recess = {{n[0], n[1]}, n[2], {n + kHead, n + kHead + rims}};
    if (n[3] != 0) bolt.floor = SeatFloor{n[4], n[5], n[6], n[7], static_cast<int>(n[8])};
    recesses.push_back(std::move(bolt));
    at += kHead + rims;
  }
  return recesses;
}

}  // namespace holdshelf
