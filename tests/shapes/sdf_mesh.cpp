// SPDX-License-Identifier: Apache-2.0
#include "tests/shapes/sdf_mesh.h"

#include <tbb/parallel_for.h>
#include <tbb/parallel_sort.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <stdexcept>
#include <utility>
#include <vector>

namespace holdshelf {
namespace {

using Eigen::Vector3d;
using Eigen::Vector3i;

constexpr int kBlock = 8;  ///< Cells along a block's edge.

// Corner c of a cell lies at ((c & 1), (c >> 1 & 1), (c >> 2 & 1)). Edge e runs along axis e / 4.
struct Edge {
  int from, to, axis;
};

std::array<Edge, 12> cellEdges() {
  std::array<Edge, 12> edges;
  for (int axis = 0; axis < 3; ++axis)
    for (int k = 0; k < 4; ++k) {
      const int b = 1 << (axis + 1) % 3, c = 1 << (axis + 2) % 3;
      const int from = (k & 1 ? b : 0) | (k & 2 ? c : 0);
      edges[axis * 4 + k] = {from, from | 1 << axis, axis};
    }
  return edges;
}

const std::array<Edge, 12> kEdges = cellEdges();

int edgeBetween(int a, int b) {
  for (int e = 0; e < 12; ++e)
    if ((kEdges[e].from == a && kEdges[e].to == b) || (kEdges[e].from == b && kEdges[e].to == a))
      return e;
  return -1;
}

/// Do both edges lie in a common face of the cell?
bool shareFace(int e, int f) {
  for (int axis = 0; axis < 3; ++axis) {
    const auto side = [&](int edge) {
      const int a = kEdges[edge].from >> axis & 1, b = kEdges[edge].to >> axis & 1;
      return a == b ? a : -1;
    };
    if (side(e) >= 0 && side(e) == side(f)) return true;
  }
  return false;
}

using Loop = std::vector<int>;
using Triangles = std::vector<std::array<int, 3>>;

/// Cuts a loop into triangles without diagonals inside a face, which the neighbour might use too.
bool triangulate(const Loop& loop, Triangles& out) {
  const std::size_t n = loop.size();
  if (n == 3) return out.push_back({loop[0], loop[1], loop[2]}), true;
  for (std::size_t i = 0; i < n; ++i) {  // Cut off the ear at i.
    const int before = loop[(i + n - 1) % n], after = loop[(i + 1) % n];
    if (shareFace(before, after)) continue;
    Loop rest = loop;
    rest.erase(rest.begin() + static_cast<std::ptrdiff_t>(i));
    const std::size_t mark = out.size();
    out.push_back({before, loop[i], after});
    if (triangulate(rest, out)) return true;
    out.resize(mark);
  }
  return false;
}

/// For each crossing edge the next one along the outline of the solid on the cell's faces, walked
/// so that the triangles face outwards. Bit c of `inside`: corner c is inside.
std::array<int, 12> outlineSteps(int inside) {
  std::array<int, 12> next;
  next.fill(-1);
  for (int axis = 0; axis < 3; ++axis)
    for (int side = 0; side < 2; ++side) {
      // The face's corners counter-clockwise seen from outside the cell.
      const int b = 1 << (axis + 1) % 3, c = 1 << (axis + 2) % 3, base = side << axis;
      std::array<int, 4> corner = {base, base | b, base | b | c, base | c};
      if (side == 0) std::swap(corner[1], corner[3]);
      // One outline piece for each run of inside corners: enters before it, leaves after it.
      for (int i = 0; i < 4; ++i) {
        const int here = corner[i], before = corner[(i + 3) % 4];
        if (!(inside >> here & 1) || (inside >> before & 1)) continue;
        int j = i;
        while (inside >> corner[(j + 1) % 4] & 1) ++j;
        next[edgeBetween(before, here)] = edgeBetween(corner[j % 4], corner[(j + 1) % 4]);
      }
    }
  return next;
}

std::array<Triangles, 256> makeTable() {
  std::array<Triangles, 256> table;
  for (int inside = 1; inside < 255; ++inside) {
    std::array<int, 12> next = outlineSteps(inside);
    for (int e = 0; e < 12; ++e) {
      if (next[e] < 0) continue;
      Loop loop;
      for (int f = e; next[f] >= 0;) {
        loop.push_back(f);
        f = std::exchange(next[f], -1);
      }
      if (!triangulate(loop, table[inside])) throw std::logic_error("meshSdf: no triangulation");
    }
  }
  return table;
}

const std::array<Triangles, 256>& table() {
  static const std::array<Triangles, 256> t = makeTable();
  return t;
}

/// Where the values change sign between a and b: bisection sped up by false position (Illinois).
Vector3d crossing(const Sdf& f, Vector3d a, double fa, Vector3d b, double fb) {
  int last = 0;
  Vector3d p = a;
  for (int i = 0; i < 60; ++i) {
    p = a + (b - a) * (fa / (fa - fb));
    const double fp = f(p);
    if (std::abs(fp) < 1e-8) break;
    if ((fp < 0) == (fa < 0)) {
      a = p, fa = fp;
      if (last == 1) fb /= 2;
      last = 1;
    } else {
      b = p, fb = fp;
      if (last == 2) fa /= 2;
      last = 2;
    }
  }
  return p;
}

struct Grid {
  Vector3d origin;
  double cell;
  Vector3i cells;  ///< Multiples of kBlock.

  Vector3d at(int x, int y, int z) const { return origin + cell * Vector3d(x, y, z); }
  /// A number for the edge that leaves a grid point along an axis.
  std::int64_t key(int x, int y, int z, int axis) const {
    return ((static_cast<std::int64_t>(z) * (cells.y() + 1) + y) * (cells.x() + 1) + x) * 3 + axis;
  }
};

struct Piece {
  std::vector<std::pair<std::int64_t, Vector3d>> vertices;
  std::vector<std::array<std::int64_t, 3>> triangles;
};

struct BlockValues {
  std::array<double, (kBlock + 1) * (kBlock + 1) * (kBlock + 1)> value;
  double& at(int x, int y, int z) { return value[(z * (kBlock + 1) + y) * (kBlock + 1) + x]; }
};

void meshCell(const Sdf& solid, const Grid& grid, const Vector3i& c, const std::array<double, 8>& v,
              Piece& piece) {
  int inside = 0;
  for (int k = 0; k < 8; ++k) inside |= (v[k] < 0) << k;
  const auto key = [&](int e) {
    const int k = kEdges[e].from;
    return grid.key(c.x() + (k & 1), c.y() + (k >> 1 & 1), c.z() + (k >> 2 & 1), kEdges[e].axis);
  };
  const auto corner = [&](int k) {
    return grid.at(c.x() + (k & 1), c.y() + (k >> 1 & 1), c.z() + (k >> 2 & 1));
  };
  int done = 0;
  for (const auto& triangle : table()[inside]) {
    for (int e : triangle) {
      if (done >> e & 1) continue;
      done |= 1 << e;
      const int a = kEdges[e].from, b = kEdges[e].to;
      piece.vertices.emplace_back(key(e), crossing(solid, corner(a), v[a], corner(b), v[b]));
    }
    piece.triangles.push_back({key(triangle[0]), key(triangle[1]), key(triangle[2])});
  }
}

void meshBlock(const Sdf& solid, const Grid& grid, const Vector3i& block, Piece& piece) {
  const Vector3i b = block * kBlock;
  // 1.5: bumps may be steeper than a distance function.
  const double reach = 1.5 * grid.cell * kBlock / 2 * std::sqrt(3.0);
  const Vector3d middle = grid.at(b.x(), b.y(), b.z()).array() + grid.cell * kBlock / 2;
  if (std::abs(solid(middle)) > reach) return;
  BlockValues values;
  for (int z = 0; z <= kBlock; ++z)
    for (int y = 0; y <= kBlock; ++y)
      for (int x = 0; x <= kBlock; ++x)
        values.at(x, y, z) = solid(grid.at(b.x() + x, b.y() + y, b.z() + z));
  for (int z = 0; z < kBlock; ++z)
    for (int y = 0; y < kBlock; ++y)
      for (int x = 0; x < kBlock; ++x) {
        std::array<double, 8> v;
        int inside = 0;
        for (int k = 0; k < 8; ++k) {
          v[k] = values.at(x + (k & 1), y + (k >> 1 & 1), z + (k >> 2 & 1));
          inside += v[k] < 0;
        }
        if (inside > 0 && inside < 8) meshCell(solid, grid, b + Vector3i(x, y, z), v, piece);
      }
}

Grid makeGrid(const Eigen::AlignedBox3d& box, double cell) {
  if (!(cell > 0) || box.isEmpty()) throw std::invalid_argument("meshSdf: bad box or cell");
  Grid grid;
  grid.cell = cell;
  grid.origin = box.min() - Vector3d(1.37, 1.41, 1.43) * cell;
  for (int i = 0; i < 3; ++i) {
    const double cells = (box.max()[i] + 1.5 * cell - grid.origin[i]) / cell;
    grid.cells[i] = (static_cast<int>(std::ceil(cells)) + kBlock - 1) / kBlock * kBlock;
  }
  return grid;
}

TriangleMesh join(const std::vector<Piece>& pieces) {
  std::vector<std::pair<std::int64_t, Vector3d>> all;
  for (const Piece& piece : pieces)
    all.insert(all.end(), piece.vertices.begin(), piece.vertices.end());
  const auto less = [](const auto& a, const auto& b) { return a.first < b.first; };
  // Cells at the same edge computed the same point from the same numbers.
  tbb::parallel_sort(all.begin(), all.end(), less);
  all.erase(std::unique(all.begin(), all.end(),
                        [](const auto& a, const auto& b) { return a.first == b.first; }),
            all.end());
  TriangleMesh mesh;
  mesh.vertices_mm.reserve(all.size());
  for (const auto& [key, p] : all) mesh.vertices_mm.push_back(p);
  const auto index = [&](std::int64_t key) {
    const auto at = std::lower_bound(all.begin(), all.end(), std::pair(key, Vector3d()), less);
    return static_cast<int>(at - all.begin());
  };
  for (const Piece& piece : pieces)
    for (const auto& t : piece.triangles)
      mesh.triangles.emplace_back(index(t[0]), index(t[1]), index(t[2]));
  return mesh;
}

}  // namespace

TriangleMesh meshSdf(const Sdf& solid, const Eigen::AlignedBox3d& box_mm, double cell_mm) {
  const Grid grid = makeGrid(box_mm, cell_mm);
  const Vector3i blocks = grid.cells / kBlock;
  std::vector<Piece> pieces(static_cast<std::size_t>(blocks.prod()));
  tbb::parallel_for(std::size_t{0}, pieces.size(), [&](std::size_t i) {
    const int n = static_cast<int>(i);
    const Vector3i block(n % blocks.x(), n / blocks.x() % blocks.y(), n / blocks.x() / blocks.y());
    meshBlock(solid, grid, block, pieces[i]);
  });
  TriangleMesh mesh = join(pieces);
  if (!isWatertight(mesh)) throw std::invalid_argument("meshSdf: the solid is not inside the box");
  return mesh;
}

}  // namespace holdshelf
