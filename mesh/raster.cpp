// SPDX-License-Identifier: Apache-2.0
#include "mesh/raster.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr int kTile = 64;
constexpr double kNear_mm = 1.0;
constexpr float kNothing = std::numeric_limits<float>::infinity();
// A hold of a million triangles in twelve million pixels enters some 2e6 tiles and looks at 1e8
// pixels; one closed by fans of thousands of slivers at 4e9. Beyond these bounds, which are 0.8 GB
// and half a minute, surfaces lie over one another a thousand times.
constexpr std::size_t kMostEntries = 200'000'000, kMostPixels = 20'000'000'000;

/// A rectangle of pixels, both ends included.
struct PixelBox {
  int x0, y0, x1, y1;
  bool empty() const { return x0 > x1 || y0 > y1; }
  std::size_t pixels() const {
    return empty() ? 0 : std::size_t(x1 - x0 + 1) * std::size_t(y1 - y0 + 1);
  }
  std::size_t tiles() const {
    return empty() ? 0
                   : std::size_t(x1 / kTile - x0 / kTile + 1) *
                         std::size_t(y1 / kTile - y0 / kTile + 1);
  }
};

/// Twice the triangle's area in the picture; what has none is not drawn.
double twiceArea(const Eigen::Vector3d& a, const Eigen::Vector3d& b, const Eigen::Vector3d& c) {
  return (b.x() - a.x()) * (c.y() - a.y()) - (b.y() - a.y()) * (c.x() - a.x());
}

bool isDrawn(double twice_area) { return std::abs(twice_area) > 1e-12; }

/// Pixels whose centres may lie in the triangle.
PixelBox boxOf(const Eigen::Vector3d& a, const Eigen::Vector3d& b, const Eigen::Vector3d& c,
               int width, int height) {
  const double x0 = std::min({a.x(), b.x(), c.x()}), x1 = std::max({a.x(), b.x(), c.x()});
  const double y0 = std::min({a.y(), b.y(), c.y()}), y1 = std::max({a.y(), b.y(), c.y()});
  const bool seen = x1 >= 0 && y1 >= 0 && x0 <= width - 1 && y0 <= height - 1;
  if (!seen || !isDrawn(twiceArea(a, b, c))) return {0, 0, -1, -1};
  return {int(std::ceil(std::max(x0, 0.0))), int(std::ceil(std::max(y0, 0.0))),
          int(std::floor(std::min(x1, width - 1.0))), int(std::floor(std::min(y1, height - 1.0)))};
}

/// @throws BadInput  Drawing them would take memory or time that no hold does.
void checkWork(const std::vector<PixelBox>& boxes) {
  std::size_t entries = 0, pixels = 0;
  for (const PixelBox& b : boxes) {
    entries += b.tiles();
    pixels += b.pixels();
    if (entries > kMostEntries || pixels > kMostPixels)
      throw BadInput(
          "The mesh's triangles lie over one another so many times that no picture is drawn of it; "
          "export the hold's surface again, each part of it once.");
  }
}

/// The triangles that may touch each tile, tiles row by row.
struct TileBins {
  int across, down;
  std::vector<std::size_t> start;  ///< #tiles + 1.
  std::vector<std::uint32_t> triangles;
};

TileBins binTriangles(const std::vector<PixelBox>& boxes, int width, int height) {
  TileBins bins{(width + kTile - 1) / kTile, (height + kTile - 1) / kTile, {}, {}};
  bins.start.assign(std::size_t(bins.across) * bins.down + 1, 0);
  const auto eachTile = [&](const PixelBox& b, const auto& visit) {
    for (int ty = b.y0 / kTile; ty <= b.y1 / kTile; ++ty)
      for (int tx = b.x0 / kTile; tx <= b.x1 / kTile; ++tx)
        visit(std::size_t(ty) * bins.across + tx);
  };
  for (const PixelBox& b : boxes)
    if (!b.empty()) eachTile(b, [&](std::size_t tile) { ++bins.start[tile + 1]; });
  for (std::size_t i = 1; i < bins.start.size(); ++i) bins.start[i] += bins.start[i - 1];
  bins.triangles.resize(bins.start.back());
  std::vector<std::size_t> next(bins.start.begin(), bins.start.end() - 1);
  for (std::size_t t = 0; t < boxes.size(); ++t)
    if (!boxes[t].empty())
      eachTile(boxes[t],
               [&](std::size_t tile) { bins.triangles[next[tile]++] = std::uint32_t(t); });
  return bins;
}

/// Draws one triangle, given by (u, v, depth) of its corners, into the pixels of `box`.
void drawTriangle(const Eigen::Vector3d& a, const Eigen::Vector3d& b, const Eigen::Vector3d& c,
                  const PixelBox& box, bool orthographic, std::int32_t id, Raster& raster) {
  const double abx = b.x() - a.x(), aby = b.y() - a.y();
  const double acx = c.x() - a.x(), acy = c.y() - a.y();
  const double area = twiceArea(a, b, c);
  if (!isDrawn(area)) return;
  // Planar weights of b and c: affine in the pixel.
  const double wb_x = acy / area, wb_y = -acx / area;
  const double wc_x = -aby / area, wc_y = abx / area;
  // 1 / depth is affine in the pixel of a perspective picture, depth in an orthographic one.
  const double qa = orthographic ? a.z() : 1 / a.z(), qb = orthographic ? b.z() : 1 / b.z(),
               qc = orthographic ? c.z() : 1 / c.z();
  // Pixels on a shared edge belong to both sides, so that rounding leaves no gap between them.
  constexpr double kEdge = -1e-9;
  for (int y = box.y0; y <= box.y1; ++y) {
    const double dy = y - a.y(), dx = box.x0 - a.x();
    double wb = wb_x * dx + wb_y * dy, wc = wc_x * dx + wc_y * dy;
    for (int x = box.x0; x <= box.x1; ++x, wb += wb_x, wc += wc_x) {
      if (wb < kEdge || wc < kEdge || wb + wc > 1 - kEdge) continue;
      const double q = qa + wb * (qb - qa) + wc * (qc - qa);
      const double depth = orthographic ? q : 1 / q;
      const std::size_t i = raster.index(x, y);
      if (!(depth < raster.depth_mm[i])) continue;
      raster.depth_mm[i] = float(depth);
      raster.triangle[i] = id;
      raster.weights[i] = orthographic ? Eigen::Vector2f(float(wb), float(wc))
                                       : Eigen::Vector2f(float(wb * qb / q), float(wc * qc / q));
    }
  }
}

}  // namespace

Raster rasterise(const TriangleMesh& mesh, const RasterCamera& camera) {
  std::vector<Eigen::Vector3d> corners(mesh.vertices_mm.size());
  tbb::parallel_for(std::size_t(0), corners.size(),
                    [&](std::size_t i) { corners[i] = camera.project(mesh.vertices_mm[i]); });
  std::vector<PixelBox> boxes(mesh.triangles.size());
  tbb::parallel_for(std::size_t(0), boxes.size(), [&](std::size_t i) {
    const Eigen::Vector3i& t = mesh.triangles[i];
    const Eigen::Vector3d &a = corners[t[0]], &b = corners[t[1]], &c = corners[t[2]];
    const bool near = !camera.orthographic && !(std::min({a.z(), b.z(), c.z()}) > kNear_mm);
    boxes[i] = near ? PixelBox{0, 0, -1, -1} : boxOf(a, b, c, camera.width_px, camera.height_px);
  });

  checkWork(boxes);
  Raster raster{camera.width_px, camera.height_px, {}, {}, {}};
  const std::size_t pixels = std::size_t(camera.width_px) * camera.height_px;
  raster.depth_mm.assign(pixels, kNothing);
  raster.triangle.assign(pixels, -1);
  raster.weights.assign(pixels, Eigen::Vector2f::Zero());
  const TileBins bins = binTriangles(boxes, camera.width_px, camera.height_px);
  tbb::parallel_for(0, bins.across * bins.down, [&](int tile) {
    const int x0 = tile % bins.across * kTile, y0 = tile / bins.across * kTile;
    for (std::size_t k = bins.start[tile]; k < bins.start[tile + 1]; ++k) {
      const std::uint32_t id = bins.triangles[k];
      const PixelBox& b = boxes[id];
      const Eigen::Vector3i& t = mesh.triangles[id];
      drawTriangle(corners[t[0]], corners[t[1]], corners[t[2]],
                   {std::max(b.x0, x0), std::max(b.y0, y0), std::min(b.x1, x0 + kTile - 1),
                    std::min(b.y1, y0 + kTile - 1)},
                   camera.orthographic, std::int32_t(id), raster);
    }
  });
  return raster;
}

std::vector<Eigen::Vector3f> rasterNormals(const TriangleMesh& mesh, const Raster& raster,
                                           const std::vector<Eigen::Vector3d>& vertex_normals) {
  std::vector<Eigen::Vector3f> normals(raster.triangle.size(), Eigen::Vector3f::Zero());
  const bool smooth = vertex_normals.size() == mesh.vertices_mm.size();
  tbb::parallel_for(std::size_t(0), normals.size(), [&](std::size_t i) {
    if (!raster.covered(i)) return;
    const Eigen::Vector3i& t = mesh.triangles[raster.triangle[i]];
    const Eigen::Vector3d& a = mesh.vertices_mm[t[0]];
    Eigen::Vector3d n = (mesh.vertices_mm[t[1]] - a).cross(mesh.vertices_mm[t[2]] - a);
    if (smooth) {
      const double w1 = raster.weights[i].x(), w2 = raster.weights[i].y();
      const Eigen::Vector3d blended = (1 - w1 - w2) * vertex_normals[t[0]] +
                                      w1 * vertex_normals[t[1]] + w2 * vertex_normals[t[2]];
      if (blended.squaredNorm() > 1e-12) n = blended;
    }
    normals[i] = n.normalized().cast<float>();
  });
  return normals;
}

}  // namespace holdshelf
