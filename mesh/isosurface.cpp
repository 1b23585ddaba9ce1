// SPDX-License-Identifier: Apache-2.0
#include "mesh/isosurface.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <limits>

namespace holdshelf {
namespace {

/// The six orders in which a path along the axes leads from corner 000 of a cube to 111.
constexpr int kPaths[6][3] = {{0, 1, 2}, {1, 2, 0}, {2, 0, 1}, {0, 2, 1}, {2, 1, 0}, {1, 0, 2}};

/// Walks the cubes layer by layer and keeps the vertices of two layers of edges. An edge is named
/// by its lower node and its direction, a non-zero corner of the unit cube as bits x | y << 1 | z
/// << 2.
class Marcher {
 public:
  explicit Marcher(const VoxelGrid& grid) : grid_(grid), nx_(grid.nodes.x()), ny_(grid.nodes.y()) {
    for (auto& layer : layers_) layer.assign(static_cast<size_t>(nx_) * ny_ * 8, -1);
  }

  TriangleMesh run() {
    for (int z = 0; z + 1 < grid_.nodes.z(); ++z) {
      for (int y = 0; y + 1 < ny_; ++y)
        for (int x = 0; x + 1 < nx_; ++x) cube(x, y, z);
      std::swap(layers_[0], layers_[1]);
      std::fill(layers_[1].begin(), layers_[1].end(), -1);
    }
    return std::move(mesh_);
  }

 private:
  struct Corner {
    int x, y, z;
    float value;
  };

  Corner corner(int x, int y, int z) const {
    const bool border =
        x == 0 || y == 0 || z == 0 || x == nx_ - 1 || y == ny_ - 1 || z == grid_.nodes.z() - 1;
    float v = grid_.value[grid_.index(x, y, z)];
    if (border && v < 1e-6f) v = 1e-6f;
    return {x, y, z, v};
  }

  void cube(int x, int y, int z) {
    layer_z_ = z;
    std::array<Corner, 8> c;
    int inside = 0;
    for (int k = 0; k < 8; ++k) {
      c[k] = corner(x + (k & 1), y + (k >> 1 & 1), z + (k >> 2));
      inside += c[k].value < 0;
    }
    if (inside == 0 || inside == 8) return;
    for (int p = 0; p < 6; ++p) {
      const int a = 1 << kPaths[p][0], b = a | 1 << kPaths[p][1];
      // Even paths are right-handed tetrahedra; the odd ones are mirrored by a swap.
      if (p < 3)
        tetrahedron({c[0], c[a], c[b], c[7]});
      else
        tetrahedron({c[0], c[b], c[a], c[7]});
    }
  }

  /// v is right-handed: (v1 - v0, v2 - v0, v3 - v0) has a positive determinant.
  void tetrahedron(const std::array<Corner, 4>& v) {
    static constexpr int kOne[4][4] = {{0, 1, 2, 3}, {1, 0, 3, 2}, {2, 0, 1, 3}, {3, 0, 2, 1}};
    static constexpr int kTwo[6][4] = {{0, 1, 2, 3}, {0, 2, 3, 1}, {0, 3, 1, 2},
                                       {1, 2, 0, 3}, {1, 3, 2, 0}, {2, 3, 0, 1}};
    bool in[4];
    int count = 0;
    for (int k = 0; k < 4; ++k) count += in[k] = v[k].value < 0;
    if (count == 1 || count == 3) {
      const bool lone = count == 1;
      for (const auto& q : kOne) {
        if (in[q[0]] != lone) continue;
        const int a = vertex(v[q[0]], v[q[1]]), b = vertex(v[q[0]], v[q[2]]),
                  c = vertex(v[q[0]], v[q[3]]);
        lone ? triangle(a, b, c) : triangle(a, c, b);
      }
    } else if (count == 2) {
      for (const auto& q : kTwo) {
        if (in[q[0]] != in[q[1]] || in[q[0]] == in[q[2]]) continue;
        const int a = vertex(v[q[0]], v[q[2]]), b = vertex(v[q[0]], v[q[3]]),
                  c = vertex(v[q[1]], v[q[3]]), d = vertex(v[q[1]], v[q[2]]);
        if (in[q[0]]) {
          triangle(a, b, c);
          triangle(a, c, d);
        } else {
          triangle(a, c, b);
          triangle(a, d, c);
        }
        return;
      }
    }
  }

  int vertex(const Corner& p, const Corner& q) {
    const bool forward = p.x <= q.x && p.y <= q.y && p.z <= q.z;
    const Corner& lo = forward ? p : q;
    const Corner& hi = forward ? q : p;
    const int direction = (hi.x - lo.x) | (hi.y - lo.y) << 1 | (hi.z - lo.z) << 2;
    int& id = layers_[lo.z - layer_z_][(static_cast<size_t>(lo.y) * nx_ + lo.x) * 8 + direction];
    if (id < 0) {
      id = static_cast<int>(mesh_.vertices_mm.size());
      // Kept off the nodes, so that no two vertices coincide.
      const double t =
          std::clamp(lo.value / (static_cast<double>(lo.value) - hi.value), 1e-3, 0.999);
      const Eigen::Vector3d a = grid_.position_mm(lo.x, lo.y, lo.z);
      mesh_.vertices_mm.push_back(a + t * (grid_.position_mm(hi.x, hi.y, hi.z) - a));
    }
    return id;
  }

  void triangle(int a, int b, int c) { mesh_.triangles.emplace_back(a, b, c); }

  const VoxelGrid& grid_;
  const int nx_, ny_;
  int layer_z_ = 0;
  std::array<std::vector<int>, 2> layers_;
  TriangleMesh mesh_;
};

/// Labels the 6-connected parts of the nodes on one side; returns their sizes.
std::vector<size_t> labelParts(const VoxelGrid& grid, bool inside, std::vector<int>& label) {
  const int nx = grid.nodes.x(), ny = grid.nodes.y(), nz = grid.nodes.z();
  label.assign(grid.value.size(), -1);
  std::vector<size_t> sizes, stack;
  const std::array<std::int64_t, 3> step = {1, nx, static_cast<std::int64_t>(nx) * ny};
  const auto pushIfNew = [&](size_t i, int part) {
    if (label[i] >= 0 || (grid.value[i] < 0) != inside) return;
    label[i] = part;
    stack.push_back(i);
  };
  for (size_t seed = 0; seed < grid.value.size(); ++seed) {
    if (label[seed] >= 0 || (grid.value[seed] < 0) != inside) continue;
    const int part = static_cast<int>(sizes.size());
    sizes.push_back(0);
    pushIfNew(seed, part);
    while (!stack.empty()) {
      const size_t i = stack.back();
      stack.pop_back();
      ++sizes.back();
      const std::array<int, 3> at = {static_cast<int>(i % nx), static_cast<int>(i / nx % ny),
                                     static_cast<int>(i / (static_cast<size_t>(nx) * ny))};
      const std::array<int, 3> most = {nx - 1, ny - 1, nz - 1};
      for (int a = 0; a < 3; ++a) {
        if (at[a] > 0) pushIfNew(i - step[a], part);
        if (at[a] < most[a]) pushIfNew(i + step[a], part);
      }
    }
  }
  return sizes;
}

}  // namespace

double VoxelGrid::interpolate(const Eigen::Vector3d& point_mm) const {
  const Eigen::Array3d at =
      ((point_mm - origin_mm) / cell_mm).array().max(0.0).min((nodes.cast<double>().array() - 1.0));
  const Eigen::Array3i base = at.floor().cast<int>().min(nodes.array() - 2).max(0);
  const Eigen::Array3d f = at - base.cast<double>();
  double sum = 0;
  for (int k = 0; k < 8; ++k) {
    const int dx = k & 1, dy = k >> 1 & 1, dz = k >> 2;
    const double weight =
        (dx ? f.x() : 1 - f.x()) * (dy ? f.y() : 1 - f.y()) * (dz ? f.z() : 1 - f.z());
    if (weight > 0) sum += weight * value[index(base.x() + dx, base.y() + dy, base.z() + dz)];
  }
  return sum;
}

TriangleMesh isosurface(const VoxelGrid& grid) {
  if ((grid.nodes.array() < 3).any()) return {};
  return Marcher(grid).run();
}

void keepLargestSolid(VoxelGrid& grid, float depth) {
  std::vector<int> label;
  std::vector<size_t> sizes = labelParts(grid, true, label);
  if (sizes.empty()) return;
  const int largest =
      static_cast<int>(std::max_element(sizes.begin(), sizes.end()) - sizes.begin());
  for (size_t i = 0; i < label.size(); ++i)
    if (label[i] >= 0 && label[i] != largest) grid.value[i] = depth;

  sizes = labelParts(grid, false, label);
  std::vector<bool> open(sizes.size(), false);
  const int nx = grid.nodes.x(), ny = grid.nodes.y(), nz = grid.nodes.z();
  for (int z = 0; z < nz; ++z)
    for (int y = 0; y < ny; ++y)
      for (int x = 0; x < nx; ++x) {
        if (x > 0 && y > 0 && z > 0 && x < nx - 1 && y < ny - 1 && z < nz - 1) continue;
        const int part = label[grid.index(x, y, z)];
        if (part >= 0) open[part] = true;
      }
  for (size_t i = 0; i < label.size(); ++i)
    if (label[i] >= 0 && !open[label[i]]) grid.value[i] = -depth;
}

}  // namespace holdshelf
