// SPDX-License-Identifier: Apache-2.0
#include "mesh/deviation.h"

#include <tbb/parallel_for.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace holdshelf {
namespace {

using Eigen::Vector3d;

constexpr double kFar_mm = 25;  // Farther apart is not the same place.
constexpr float kNone = std::numeric_limits<float>::quiet_NaN();

/// Vertices, their areas and their neighbours: a field over the surface is averaged along edges.
struct SurfaceGraph {
  std::vector<double> area_mm2;
  std::vector<std::vector<int>> neighbours;
  double edge_mm = 1;  ///< Mean length.

  explicit SurfaceGraph(const TriangleMesh& mesh)
      : area_mm2(mesh.vertices_mm.size(), 0), neighbours(mesh.vertices_mm.size()) {
    double length = 0;
    for (const auto& t : mesh.triangles) {
      const Vector3d& a = mesh.vertices_mm[static_cast<std::size_t>(t[0])];
      const Vector3d& b = mesh.vertices_mm[static_cast<std::size_t>(t[1])];
      const Vector3d& c = mesh.vertices_mm[static_cast<std::size_t>(t[2])];
      const double third = (b - a).cross(c - a).norm() / 6;
      for (int i = 0; i < 3; ++i) {
        area_mm2[static_cast<std::size_t>(t[i])] += third;
        neighbours[static_cast<std::size_t>(t[i])].push_back(t[(i + 1) % 3]);
        neighbours[static_cast<std::size_t>(t[(i + 1) % 3])].push_back(t[i]);
      }
      length += (b - a).norm();
    }
    for (auto& list : neighbours) {
      std::sort(list.begin(), list.end());
      list.erase(std::unique(list.begin(), list.end()), list.end());
    }
    if (!mesh.triangles.empty()) edge_mm = length / static_cast<double>(mesh.triangles.size());
  }
};

/// Directions about +z whose density goes with the cosine: points spread evenly over a disc and
/// lifted onto the hemisphere.
std::vector<Vector3d> cosineDirections(int count) {
  std::vector<Vector3d> directions;
  for (int i = 0; i < count; ++i) {
    const double r2 = (i + 0.5) / count, turn = i * std::numbers::pi * (3 - std::sqrt(5.0));
    directions.emplace_back(std::sqrt(r2) * std::cos(turn), std::sqrt(r2) * std::sin(turn),
                            std::sqrt(1 - r2));
  }
  return directions;
}

/// Share of the directions from which a place can be photographed.
double openness(const RayScene& scene, const Vector3d& at, const Vector3d& normal) {
  constexpr double kReach_mm = 150, kGap_mm = 0.3;
  static const std::vector<Vector3d> kDirections = cosineDirections(32);
  const Eigen::Quaterniond turn = Eigen::Quaterniond::FromTwoVectors(Vector3d::UnitZ(), normal);
  int open = 0;
  for (const Vector3d& direction : kDirections) {
    const Vector3d way = turn * direction;
    if (way.z() <= 0) continue;  // No photo from behind the wall.
    open += scene.occluded(at + kGap_mm * normal, at + kReach_mm * way, kGap_mm) ? 0 : 1;
  }
  return open / static_cast<double>(kDirections.size());
}

/// Whether a place lies in a hole that is narrow all round, at its height over the wall.
bool inNarrowHole(const RayScene& scene, const Vector3d& at, const Vector3d& normal,
                  double narrow_mm) {
  constexpr double kGap_mm = 0.3;
  constexpr int kRays = 16;
  int walled = 0;
  for (int i = 0; i < kRays; ++i) {
    const double turn = 2 * std::numbers::pi * i / kRays;
    const Vector3d way(std::cos(turn), std::sin(turn), 0);
    walled += scene.firstHit(at + kGap_mm * normal, way, 0, narrow_mm) ? 1 : 0;
  }
  return walled + 1 >= kRays;  // One ray may slip out where the mesh is rough.
}

/// Drops what changed in hollows; what did not needs no look.
void dropHollows(const RegistrationTarget& baseline, const DeviationOptions& options,
                 std::vector<float>& raw) {
  const std::vector<Vector3d> normals = vertexNormals(baseline.mesh);
  tbb::parallel_for(std::size_t{0}, raw.size(), [&](std::size_t i) {
    if (std::abs(raw[i]) < 0.5 * options.least_limit_mm || std::isnan(raw[i])) return;
    const Vector3d& at = baseline.mesh.vertices_mm[i];
    if (openness(baseline.scene, at, normals[i]) < options.least_open ||
        inNarrowHole(baseline.scene, at, normals[i], options.narrow_hole_mm))
      raw[i] = kNone;
  });
}

/// Deviation of every baseline vertex along its normal, unsmoothed.
std::vector<float> rawDeviation(const RegistrationTarget& baseline, const RegistrationTarget& scan,
                                const Registered& registered, const DeviationOptions& options) {
  const TriangleMesh& mesh = baseline.mesh;
  const std::vector<Vector3d> normals = vertexNormals(mesh);
  const Eigen::Affine3d to_baseline = registered.transform(), to_scan = to_baseline.inverse();
  double top_mm = 0;
  for (const Vector3d& v : mesh.vertices_mm) top_mm = std::max(top_mm, v.z());
  const double foot_mm = std::min(options.foot_z_mm, options.foot_share * top_mm);
  std::vector<float> raw(mesh.vertices_mm.size(), kNone);
  tbb::parallel_for(std::size_t{0}, raw.size(), [&](std::size_t i) {
    const Vector3d& p = mesh.vertices_mm[i];
    const bool guess = !mesh.guesswork.empty() && mesh.guesswork[i] != 0;
    const bool spared = std::any_of(
        options.spared.begin(), options.spared.end(),
        [&](const Spared& hole) { return (p.head<2>() - hole.centre_mm).norm() < hole.radius_mm; });
    if (p.z() < foot_mm || guess || spared || normals[i].isZero()) return;
    const auto hit = scan.scene.closestPoint(to_scan * p);
    if (!hit) return;
    const Vector3d there = to_baseline * hit->point_mm - p;
    if (there.norm() > kFar_mm) return;
    raw[i] = static_cast<float>(std::copysign(there.norm(), there.dot(normals[i])));
  });
  return raw;
}

/// Patch means by repeated averaging along the edges; each round widens the patch by about an edge.
std::vector<float> smoothed(const SurfaceGraph& graph, std::vector<float> field, double patch_mm) {
  // n rounds over an edge length e spread like a walk: radius e sqrt(n).
  const double ratio = patch_mm / graph.edge_mm;
  const auto rounds = static_cast<int>(std::lround(std::clamp(ratio * ratio, 1.0, 60.0)));
  std::vector<float> next(field.size());
  for (int round = 0; round < rounds; ++round) {
    tbb::parallel_for(std::size_t{0}, field.size(), [&](std::size_t i) {
      next[i] = field[i];
      if (std::isnan(field[i])) return;
      double sum = graph.area_mm2[i] * field[i], weight = graph.area_mm2[i];
      for (const int n : graph.neighbours[i]) {
        const auto j = static_cast<std::size_t>(n);
        if (std::isnan(field[j])) continue;
        sum += graph.area_mm2[j] * field[j];
        weight += graph.area_mm2[j];
      }
      if (weight > 0) next[i] = static_cast<float>(sum / weight);
    });
    std::swap(field, next);
  }
  return field;
}

double medianOf(std::vector<float> values) {
  std::erase_if(values, [](float v) { return std::isnan(v); });
  if (values.empty()) return 0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

/// Standard deviation from the median distance to the median: worn places do not widen it.
double spreadOf(std::vector<float> values, double middle) {
  for (float& v : values) v = std::abs(v - static_cast<float>(middle));
  return 1.4826 * medianOf(std::move(values));
}

/// The lost patches that hang together with one vertex; with sign 1 the gained ones.
LostPiece grow(const TriangleMesh& mesh, const SurfaceGraph& graph, const Deviation& deviation,
               int seed, double sign, std::vector<char>& taken) {
  LostPiece piece;
  double volume = 0;
  std::vector<int> open = {seed};
  taken[static_cast<std::size_t>(seed)] = 1;
  while (!open.empty()) {
    const auto i = static_cast<std::size_t>(open.back());
    open.pop_back();
    const double lost = sign * static_cast<double>(deviation.signed_mm[i]);
    volume += lost * graph.area_mm2[i];
    piece.area_mm2 += graph.area_mm2[i];
    piece.centre_mm += graph.area_mm2[i] * mesh.vertices_mm[i];
    piece.deepest_mm = std::max(piece.deepest_mm, lost);
    for (const int n : graph.neighbours[i]) {
      const auto j = static_cast<std::size_t>(n);
      // A piece reaches to where half of the limit is lost, so that its sloping sides count.
      if (taken[j] || !(sign * deviation.signed_mm[j] > deviation.limit_mm / 2)) continue;
      taken[j] = 1;
      open.push_back(n);
    }
  }
  if (piece.area_mm2 > 0) piece.centre_mm /= piece.area_mm2;
  piece.volume_mm3.set_value(volume);
  // Patch means next to each other err together: their errors add.
  piece.volume_mm3.set_sigma(piece.area_mm2 * deviation.spread_mm);
  return piece;
}

/// All pieces of one sign that pass the limit.
std::vector<LostPiece> piecesOf(const TriangleMesh& mesh, const SurfaceGraph& graph,
                                const Deviation& deviation, double sign) {
  std::vector<LostPiece> pieces;
  std::vector<char> taken(deviation.signed_mm.size(), 0);
  for (std::size_t i = 0; i < taken.size(); ++i)
    if (!taken[i] && sign * deviation.signed_mm[i] > deviation.limit_mm)
      pieces.push_back(grow(mesh, graph, deviation, static_cast<int>(i), sign, taken));
  return pieces;
}

}  // namespace

Deviation deviationOf(const RegistrationTarget& baseline, const RegistrationTarget& scan,
                      const Registered& registered, const DeviationOptions& options) {
  Deviation deviation;
  const SurfaceGraph graph(baseline.mesh);
  auto raw = rawDeviation(baseline, scan, registered, options);
  deviation.offset_mm = medianOf(raw);
  for (float& v : raw) v -= static_cast<float>(deviation.offset_mm);
  dropHollows(baseline, options, raw);
  deviation.signed_mm = smoothed(graph, std::move(raw), options.patch_mm);
  deviation.spread_mm = spreadOf(deviation.signed_mm, medianOf(deviation.signed_mm));
  deviation.limit_mm = std::max(options.least_limit_mm, options.limit_sigmas * deviation.spread_mm);

  deviation.gained = piecesOf(baseline.mesh, graph, deviation, 1);
  for (const LostPiece& piece : deviation.gained) {
    deviation.gained_mm3 = std::max(deviation.gained_mm3, piece.volume_mm3.value());
    deviation.gained_mm = std::max(deviation.gained_mm, piece.deepest_mm);
  }
  double lost = 0, sigma2 = 0;
  for (LostPiece& piece : piecesOf(baseline.mesh, graph, deviation, -1)) {
    const bool clear = piece.volume_mm3.value() > options.above_gained * deviation.gained_mm3 ||
                       piece.deepest_mm > options.above_gained * deviation.gained_mm;
    if (piece.volume_mm3.value() < options.least_piece_mm3 || !clear) continue;
    lost += piece.volume_mm3.value();
    sigma2 += piece.volume_mm3.sigma() * piece.volume_mm3.sigma();
    deviation.pieces.push_back(std::move(piece));
  }
  std::sort(deviation.pieces.begin(), deviation.pieces.end(),
            [](const LostPiece& x, const LostPiece& y) {
              return x.volume_mm3.value() > y.volume_mm3.value();
            });
  deviation.lost_mm3.set_value(lost);
  deviation.lost_mm3.set_sigma(std::sqrt(sigma2));
  return deviation;
}

}  // namespace holdshelf
