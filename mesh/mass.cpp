// SPDX-License-Identifier: Apache-2.0
#include "mesh/mass.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

namespace holdshelf {
namespace {

Eigen::Vector3d corner(const TriangleMesh& mesh, const Eigen::Vector3i& t, int k) {
  return mesh.vertices_mm[t[k]];
}

/// Integral of z over the projection of a polygon whose corners lie at or above z = 0: the volume
/// under it, negative where it faces down.
double columnVolume(const Eigen::Vector3d& a, const Eigen::Vector3d& b, const Eigen::Vector3d& c) {
  return ((b.x() - a.x()) * (c.y() - a.y()) - (b.y() - a.y()) * (c.x() - a.x())) / 2 *
         (a.z() + b.z() + c.z()) / 3;
}

/// The same for a triangle of which only the part above the wall counts.
double clippedVolume(const Eigen::Vector3d (&t)[3]) {
  Eigen::Vector3d kept[4];
  int n = 0;
  for (int k = 0; k < 3; ++k) {
    const Eigen::Vector3d &a = t[k], &b = t[(k + 1) % 3];
    if (a.z() >= 0) kept[n++] = a;
    if ((a.z() >= 0) != (b.z() >= 0)) kept[n++] = a + (b - a) * (a.z() / (a.z() - b.z()));
  }
  double volume = 0;
  for (int k = 2; k < n; ++k) volume += columnVolume(kept[0], kept[k - 1], kept[k]);
  return volume;
}

int farthestFrom(const TriangleMesh& mesh, const Eigen::Vector3d& p) {
  int best = 0;
  double distance = -1;
  for (std::size_t v = 0; v < mesh.vertices_mm.size(); ++v) {
    const double d = (mesh.vertices_mm[v] - p).squaredNorm();
    if (d > distance) {
      distance = d;
      best = static_cast<int>(v);
    }
  }
  return best;
}

/// For each of some 2000 directions from the middle the vertex farthest out.
std::vector<int> outermost(const TriangleMesh& mesh, const Eigen::Vector3d& middle) {
  constexpr int kAround = 64, kUp = 32;
  std::vector<int> vertex(kAround * kUp, -1);
  std::vector<double> distance(vertex.size(), -1);
  for (std::size_t v = 0; v < mesh.vertices_mm.size(); ++v) {
    const Eigen::Vector3d d = mesh.vertices_mm[v] - middle;
    const double r = d.norm();
    if (!(r > 0)) continue;
    const int i = std::min(kAround - 1,
                           static_cast<int>((std::atan2(d.y(), d.x()) / M_PI + 1) / 2 * kAround));
    const int k = std::min(kUp - 1, static_cast<int>((d.z() / r + 1) / 2 * kUp));
    if (r > distance[i * kUp + k]) {
      distance[i * kUp + k] = r;
      vertex[i * kUp + k] = static_cast<int>(v);
    }
  }
  std::erase(vertex, -1);
  return vertex;
}

/// Area of a triangle above z = height, and of its surface's continuation at the same slope from
/// there down to the wall where it crosses that height.
double areaDownToWall(const Eigen::Vector3d p[3], double height) {
  const Eigen::Vector3d normal = (p[1] - p[0]).cross(p[2] - p[0]);
  const double area = normal.norm() / 2;
  const int above = (p[0].z() > height) + (p[1].z() > height) + (p[2].z() > height);
  if (above == 3 || above == 0 || area == 0) return above == 3 ? area : 0;
  // The corner that is alone on its side, and where the sides from it cross the height.
  int alone = 0;
  while ((p[alone].z() > height) != (above == 1)) ++alone;
  const Eigen::Vector3d &a = p[alone], &b = p[(alone + 1) % 3], &c = p[(alone + 2) % 3];
  const double f = (height - a.z()) / (b.z() - a.z()), g = (height - a.z()) / (c.z() - a.z());
  const double cut = area * f * g;
  const double along = ((a + f * (b - a)) - (a + g * (c - a))).norm();
  const double rise = normal.head<2>().norm() / (2 * area);  // Sine of the slope.
  return (above == 1 ? cut : area - cut) + along * height / std::max(rise, 1.0 / 3);
}

}  // namespace

Eigen::Matrix3d MassProperties::inertia() const {
  const Eigen::Matrix3d central =
      second_moment_mm5 - volume_mm3 * centroid_mm * centroid_mm.transpose();
  return central.trace() * Eigen::Matrix3d::Identity() - central;
}

MassProperties massProperties(const TriangleMesh& mesh) {
  MassProperties m;
  Eigen::Vector3d middle = Eigen::Vector3d::Zero(), first = Eigen::Vector3d::Zero();
  for (const Eigen::Vector3d& v : mesh.vertices_mm) middle += v;
  middle /= std::max<double>(1, static_cast<double>(mesh.vertices_mm.size()));
  for (const Eigen::Vector3i& t : mesh.triangles) {
    const Eigen::Vector3d a = corner(mesh, t, 0) - middle, b = corner(mesh, t, 1) - middle,
                          c = corner(mesh, t, 2) - middle;
    m.area_mm2 += (b - a).cross(c - a).norm() / 2;
    const double volume = a.dot(b.cross(c)) / 6;
    const Eigen::Vector3d sum = a + b + c;
    m.volume_mm3 += volume;
    first += volume / 4 * sum;
    m.second_moment_mm5 +=
        volume / 20 *
        (a * a.transpose() + b * b.transpose() + c * c.transpose() + sum * sum.transpose());
  }
  if (m.volume_mm3 != 0) m.centroid_mm = first / m.volume_mm3 + middle;
  m.second_moment_mm5 += first * middle.transpose() + middle * first.transpose() +
                         m.volume_mm3 * middle * middle.transpose();
  return m;
}

HoldBody measureBody(const TriangleMesh& mesh, double back_mm) {
  HoldBody body;
  body.low_mm.setConstant(std::numeric_limits<double>::infinity());
  body.high_mm = -body.low_mm;
  for (std::size_t v = 0; v < mesh.vertices_mm.size(); ++v) {
    if (mesh.vertices_mm[v].z() > body.high_mm.z()) body.highest_vertex = static_cast<int>(v);
    body.low_mm = body.low_mm.cwiseMin(mesh.vertices_mm[v]);
    body.high_mm = body.high_mm.cwiseMax(mesh.vertices_mm[v]);
  }
  body.protrusion_mm = std::max(0.0, body.high_mm.z());
  for (const Eigen::Vector3i& t : mesh.triangles) {
    const Eigen::Vector3d p[3] = {corner(mesh, t, 0), corner(mesh, t, 1), corner(mesh, t, 2)};
    body.volume_mm3 += clippedVolume(p);
    body.area_mm2 += areaDownToWall(p, back_mm);
  }
  return body;
}

Extent longestExtent(const TriangleMesh& mesh) {
  Extent best;
  if (mesh.vertices_mm.empty()) return best;
  Eigen::AlignedBox3d box;
  for (const Eigen::Vector3d& v : mesh.vertices_mm) box.extend(v);
  const std::vector<int> hull = outermost(mesh, box.center());
  // The longest few chords among them, each made longer as far as the whole mesh allows.
  std::vector<std::pair<double, int>> farthest;
  for (int a : hull) {
    double longest = -1;
    for (int b : hull)
      longest = std::max(longest, (mesh.vertices_mm[a] - mesh.vertices_mm[b]).squaredNorm());
    farthest.emplace_back(-longest, a);
  }
  const std::size_t few = std::min<std::size_t>(24, farthest.size());
  std::partial_sort(farthest.begin(), farthest.begin() + static_cast<std::ptrdiff_t>(few),
                    farthest.end());
  best.from = best.to = hull.empty() ? 0 : hull.front();
  for (std::size_t i = 0; i < few; ++i) {
    const int to = farthestFrom(mesh, mesh.vertices_mm[farthest[i].second]);
    const int from = farthestFrom(mesh, mesh.vertices_mm[to]);
    const auto length = [&](int a, int b) {
      return (mesh.vertices_mm[a] - mesh.vertices_mm[b]).squaredNorm();
    };
    if (length(from, to) > length(best.from, best.to)) best.from = from, best.to = to;
  }
  best.length_mm = (mesh.vertices_mm[best.from] - mesh.vertices_mm[best.to]).norm();
  return best;
}

}  // namespace holdshelf
