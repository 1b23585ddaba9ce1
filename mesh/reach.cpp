// SPDX-License-Identifier: Apache-2.0
#include "mesh/reach.h"

#include <tbb/blocked_range.h>
#include <tbb/parallel_for.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <limits>

#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr float kFar = 1e12f;

/// Squared distance transform of one line in place (P. Felzenszwalb, D. Huttenlocher, "Distance
/// Transforms of Sampled Functions", Theory of Computing 8, 2012), in grid units.
void transformLine(float* f, int n, std::size_t stride, std::vector<float>& in,
                   std::vector<int>& site, std::vector<float>& bound) {
  for (int i = 0; i < n; ++i) in[i] = f[static_cast<std::size_t>(i) * stride];
  int k = -1;
  for (int q = 0; q < n; ++q) {
    if (in[q] >= kFar) continue;
    float s = -std::numeric_limits<float>::infinity();
    while (k >= 0) {
      const int v = site[k];
      s = ((in[q] + static_cast<float>(q) * q) - (in[v] + static_cast<float>(v) * v)) /
          static_cast<float>(2 * (q - v));
      if (s > bound[k]) break;
      --k;
    }
    ++k;
    site[k] = q;
    bound[k] = k == 0 ? -std::numeric_limits<float>::infinity() : s;
  }
  if (k < 0) return;
  const int last = k;
  k = 0;
  for (int i = 0; i < n; ++i) {
    while (k < last && bound[k + 1] < static_cast<float>(i)) ++k;
    const float d = static_cast<float>(i - site[k]);
    f[static_cast<std::size_t>(i) * stride] = d * d + in[site[k]];
  }
}

// Samples and columns that a mesh may cost: a hold costs a million, one closed by a fan of ten
// thousand slivers as long as itself 2e8. Half a minute.
constexpr double kMostWork = 2e10;

/// Steps along a triangle's sides at which it is sampled.
int stepsOf(const Eigen::Vector3d& a, const Eigen::Vector3d& b, const Eigen::Vector3d& c,
            double sample_mm) {
  const double longest =
      std::sqrt(std::max({(b - a).squaredNorm(), (c - a).squaredNorm(), (c - b).squaredNorm()}));
  return static_cast<int>(std::clamp(std::ceil(longest / sample_mm), 1.0, 2000.0));
}

double sampleSpacing(double spacing) { return 0.7 * spacing; }

/// @throws BadInput  To look at each triangle as often as its size asks would take too long.
void checkWork(const TriangleMesh& mesh, double spacing) {
  double work = 0;
  for (const Eigen::Vector3i& t : mesh.triangles) {
    const double n = stepsOf(mesh.vertices_mm[t[0]], mesh.vertices_mm[t[1]], mesh.vertices_mm[t[2]],
                             sampleSpacing(spacing));
    work += n * n / 2;
  }
  if (work > kMostWork)
    throw BadInput(
        "The mesh's triangles lie over one another so many times that nothing is measured on it; "
        "export the hold's surface again, each part of it once.");
}

/// Points of the surface about once a grid cell of `spacing`, whatever its triangles, at most two a
/// cell; sorted by height.
std::vector<Eigen::Vector3d> samplesByHeight(const TriangleMesh& mesh, const Eigen::Vector3d& low,
                                             const Eigen::Vector3i& size, double spacing) {
  std::vector<std::uint8_t> sampled(static_cast<std::size_t>(size[0]) *
                                        static_cast<std::size_t>(size[1]) *
                                        static_cast<std::size_t>(size[2]),
                                    0);
  std::vector<Eigen::Vector3d> samples;
  const auto add = [&](const Eigen::Vector3d& p) {
    const Eigen::Vector3i cell = ((p - low) / spacing).array().floor().cast<int>();
    if ((cell.array() < 0).any() || (cell.array() >= size.array()).any()) return;
    const auto wide = static_cast<std::size_t>(size[0]), deep = static_cast<std::size_t>(size[1]);
    std::uint8_t& used =
        sampled[(static_cast<std::size_t>(cell.z()) * deep + static_cast<std::size_t>(cell.y())) *
                    wide +
                static_cast<std::size_t>(cell.x())];
    if (used >= 2) return;
    ++used;
    samples.push_back(p);
  };
  for (const Eigen::Vector3i& t : mesh.triangles) {
    const Eigen::Vector3d &a = mesh.vertices_mm[t[0]], &b = mesh.vertices_mm[t[1]],
                          &c = mesh.vertices_mm[t[2]];
    const int n = stepsOf(a, b, c, sampleSpacing(spacing));
    for (int i = 0; i <= n; ++i)
      for (int k = 0; k + i <= n; ++k) add(a + (b - a) * i / n + (c - a) * k / n);
  }
  std::sort(samples.begin(), samples.end(),
            [](const auto& p, const auto& q) { return p.z() < q.z(); });
  return samples;
}

}  // namespace

ReachField::ReachField(const TriangleMesh& mesh, const ReachOptions& options)
    : radius_(options.finger_mm / 2) {
  layOut(mesh, options);
  checkWork(mesh, spacing_);
  std::vector<std::uint8_t> blocked = solidPoints(mesh);
  // A quarter of a spacing less, so that an opening a spacing wider always holds a grid point.
  // Nothing is left of it on a grid whose spacing is twice the finger.
  radius_ = std::max(0.0, radius_ - 0.25 * spacing_);
  blockNear(mesh, radius_, blocked);
  flood(blocked);
  measureDistances();
}

void ReachField::layOut(const TriangleMesh& mesh, const ReachOptions& options) {
  Eigen::Vector3d low = Eigen::Vector3d::Constant(std::numeric_limits<double>::infinity()),
                  high = -low;
  for (const Eigen::Vector3d& v : mesh.vertices_mm) {
    low = low.cwiseMin(v);
    high = high.cwiseMax(v);
  }
  low.z() = 0;
  high.z() = std::max(high.z(), 1.0);
  spacing_ = options.spacing_mm;
  for (;; spacing_ *= 1.1) {
    const double margin = options.finger_mm + 2 * spacing_;
    low_ = low - Eigen::Vector3d(margin, margin, 0);
    const Eigen::Vector3d extent = high + Eigen::Vector3d(margin, margin, margin) - low_;
    size_ = (extent / spacing_).array().ceil().cast<int>() + 1;
    if (size_.cast<double>().prod() <= static_cast<double>(options.largest_grid)) return;
  }
}

/// Grid points inside the hold: along each column of the grid the surface is crossed upwards and
/// downwards by turns. Without a back the column stays inside down to the wall.
std::vector<std::uint8_t> ReachField::solidPoints(const TriangleMesh& mesh) const {
  std::vector<std::uint8_t> solid(static_cast<std::size_t>(size_.cast<double>().prod()), 0);
  std::vector<std::int16_t> crossing(solid.size() + 1, 0);
  for (const Eigen::Vector3i& t : mesh.triangles) {
    const Eigen::Vector3d &a = mesh.vertices_mm[t[0]], &b = mesh.vertices_mm[t[1]],
                          &c = mesh.vertices_mm[t[2]];
    const double area = (b.x() - a.x()) * (c.y() - a.y()) - (b.y() - a.y()) * (c.x() - a.x());
    if (area == 0) continue;
    const auto cell = [&](double v, int k) { return (v - low_[k]) / spacing_; };
    const int x0 = static_cast<int>(std::ceil(cell(std::min({a.x(), b.x(), c.x()}), 0)));
    const int x1 = static_cast<int>(std::floor(cell(std::max({a.x(), b.x(), c.x()}), 0)));
    const int y0 = static_cast<int>(std::ceil(cell(std::min({a.y(), b.y(), c.y()}), 1)));
    const int y1 = static_cast<int>(std::floor(cell(std::max({a.y(), b.y(), c.y()}), 1)));
    for (int y = y0; y <= y1; ++y)
      for (int x = x0; x <= x1; ++x) {
        // A tiny shear keeps grid points off edges that lie on the grid's own lines.
        const double px = low_.x() + x * spacing_ + 1.3e-7, py = low_.y() + y * spacing_ + 2.1e-7;
        const double wb = ((px - a.x()) * (c.y() - a.y()) - (py - a.y()) * (c.x() - a.x())) / area;
        const double wc = ((b.x() - a.x()) * (py - a.y()) - (b.y() - a.y()) * (px - a.x())) / area;
        if (wb < 0 || wc < 0 || wb + wc > 1) continue;
        const double z = a.z() + wb * (b.z() - a.z()) + wc * (c.z() - a.z());
        const int top = std::clamp(static_cast<int>(std::floor(cell(z, 2))), -1, size_[2] - 1);
        if (top >= 0)
          crossing[index(x, y, top)] =
              static_cast<std::int16_t>(crossing[index(x, y, top)] + (area > 0 ? 1 : -1));
      }
  }
  for (int y = 0; y < size_[1]; ++y)
    for (int x = 0; x < size_[0]; ++x) {
      int inside = 0;
      for (int z = size_[2] - 1; z >= 0; --z) {
        inside += crossing[index(x, y, z)];
        solid[index(x, y, z)] = inside > 0;
      }
    }
  return solid;
}

/// Blocks every grid point nearer than the radius to the surface or the wall. The surface is
/// sampled about once a spacing whatever its triangles; runs along x are marked at their two ends
/// and summed.
void ReachField::blockNear(const TriangleMesh& mesh, double radius_mm,
                           std::vector<std::uint8_t>& blocked) const {
  const std::vector<Eigen::Vector3d> samples = samplesByHeight(mesh, low_, size_, spacing_);
  // One layer of z at a time belongs to one thread, which looks at the samples near it.
  tbb::parallel_for(0, size_[2], [&](int z) {
    const double height = low_.z() + z * spacing_;
    std::vector<std::int16_t> ends(static_cast<std::size_t>((size_[0] + 1) * size_[1]), 0);
    const auto lower = [&](double at) {
      return std::lower_bound(samples.begin(), samples.end(), at,
                              [](const auto& p, double v) { return p.z() < v; });
    };
    for (auto s = lower(height - radius_mm), end = lower(height + radius_mm); s != end; ++s) {
      const double disc =
          std::sqrt(std::max(0.0, radius_mm * radius_mm - (s->z() - height) * (s->z() - height)));
      const int y0 =
          std::max(0, static_cast<int>(std::ceil((s->y() - disc - low_.y()) / spacing_)));
      const int y1 = std::min(size_[1] - 1,
                              static_cast<int>(std::floor((s->y() + disc - low_.y()) / spacing_)));
      for (int y = y0; y <= y1; ++y) {
        const double dy = low_.y() + y * spacing_ - s->y();
        const double half = std::sqrt(std::max(0.0, disc * disc - dy * dy));
        const int x0 =
            std::max(0, static_cast<int>(std::ceil((s->x() - half - low_.x()) / spacing_)));
        const int x1 = std::min(
            size_[0] - 1, static_cast<int>(std::floor((s->x() + half - low_.x()) / spacing_)));
        if (x0 > x1) continue;
        ++ends[static_cast<std::size_t>(y * (size_[0] + 1) + x0)];
        --ends[static_cast<std::size_t>(y * (size_[0] + 1) + x1 + 1)];
      }
    }
    const bool in_wall = height < radius_mm;
    for (int y = 0; y < size_[1]; ++y) {
      int open = 0;
      for (int x = 0; x < size_[0]; ++x) {
        open += ends[static_cast<std::size_t>(y * (size_[0] + 1) + x)];
        if (open > 0 || in_wall) blocked[index(x, y, z)] = 1;
      }
    }
  });
}

void ReachField::flood(const std::vector<std::uint8_t>& blocked) {
  distance_.assign(blocked.size(), kFar);
  std::vector<std::size_t> open;
  const auto visit = [&](int x, int y, int z) {
    if (x < 0 || y < 0 || z < 0 || x >= size_[0] || y >= size_[1] || z >= size_[2]) return;
    const std::size_t i = index(x, y, z);
    if (blocked[i] || distance_[i] == 0) return;
    distance_[i] = 0;
    open.push_back(i);
  };
  for (int y = 0; y < size_[1]; ++y)
    for (int x = 0; x < size_[0]; ++x) visit(x, y, size_[2] - 1);
  while (!open.empty()) {
    const std::size_t i = open.back();
    open.pop_back();
    const int x = static_cast<int>(i % static_cast<std::size_t>(size_[0]));
    const int y = static_cast<int>(i / static_cast<std::size_t>(size_[0]) %
                                   static_cast<std::size_t>(size_[1]));
    const int z = static_cast<int>(i / static_cast<std::size_t>(size_[0]) /
                                   static_cast<std::size_t>(size_[1]));
    // All 26 neighbours: a slanting gap that is just wide enough has grid points in it that touch
    // one another by corners only.
    for (int dz = -1; dz <= 1; ++dz)
      for (int dy = -1; dy <= 1; ++dy)
        for (int dx = -1; dx <= 1; ++dx) visit(x + dx, y + dy, z + dz);
  }
}

void ReachField::measureDistances() {
  const std::size_t line[3] = {
      1, static_cast<std::size_t>(size_[0]),
      static_cast<std::size_t>(size_[0]) * static_cast<std::size_t>(size_[1])};
  const auto pass = [&](int along, int outer, int inner) {
    tbb::parallel_for(
        tbb::blocked_range<int>(0, size_[outer]), [&](const tbb::blocked_range<int>& range) {
          const std::size_t n = static_cast<std::size_t>(size_[along]);
          std::vector<float> in(n), bound(n + 1);
          std::vector<int> site(n);
          for (int o = range.begin(); o < range.end(); ++o)
            for (int i = 0; i < size_[inner]; ++i)
              transformLine(distance_.data() + static_cast<std::size_t>(o) * line[outer] +
                                static_cast<std::size_t>(i) * line[inner],
                            size_[along], line[along], in, site, bound);
        });
  };
  pass(0, 2, 1);
  pass(1, 2, 0);
  pass(2, 1, 0);
  for (float& d : distance_) d = static_cast<float>(std::sqrt(d) * spacing_);
}

double ReachField::gap_mm(const Eigen::Vector3d& point_mm) const {
  const Eigen::Vector3d at = (point_mm - low_) / spacing_;
  const Eigen::Vector3i cell = at.array().floor().cast<int>().max(0).min(size_.array() - 2);
  const Eigen::Vector3d f = (at - cell.cast<double>()).array().max(0).min(1);
  double sum = 0;
  for (int k = 0; k < 8; ++k) {
    const int x = k & 1, y = k >> 1 & 1, z = k >> 2;
    const double weight =
        (x ? f.x() : 1 - f.x()) * (y ? f.y() : 1 - f.y()) * (z ? f.z() : 1 - f.z());
    sum += weight * distance_[index(cell.x() + x, cell.y() + y, cell.z() + z)];
  }
  return std::max(0.0, sum - radius_);
}

}  // namespace holdshelf
