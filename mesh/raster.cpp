// SPDX-License-Identifier: Apache-2.0
#include "mesh/raster.h"

#include <tbb/blocked_range.h>
#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>

namespace holdshelf {
namespace {

constexpr int kTile = 64;
constexpr double kNear_mm = 1.0;
constexpr float kNothing = std::numeric_limits<float>::infinity();

/// A rectangle of pixels, both ends included.
struct PixelBox {
  int x0, y0, x1, y1;
  bool empty() const { return x0 > x1 || y0 > y1; }
};

/// Pixels whose centres may lie in the triangle.
PixelBox boxOf(const Eigen::Vector3d& a, const Eigen::Vector3d& b, const Eigen::Vector3d& c,
               int width, int height) {
  const double x0 = std::min({a.x(), b.x(), c.x()}), x1 = std::max({a.x(), b.x(), c.x()});
  const double y0 = std::min({a.y(), b.y(), c.y()}), y1 = std::max({a.y(), b.y(), c.y()});
  if (!(x1 >= 0 && y1 >= 0 && x0 <= width - 1 && y0 <= height - 1)) return {0, 0, -1, -1};
  return {int(std::ceil(std::max(x0, 0.0))), int(std::ceil(std::max(y0, 0.0))),
          int(std::floor(std::min(x1, width - 1.0))), int(std::floor(std::min(y1, height - 1.0)))};
}

/// The triangles that may touch each tile, tiles row by row.
struct TileBins {
  int across, down;
  std::vector<std::uint32_t> start;  ///< #tiles + 1.
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
  std::vector<std::uint32_t> next(bins.start.begin(), bins.start.end() - 1);
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
  const double area = abx * acy - aby * acx;
  if (!(std::abs(area) > 1e-12)) return;
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

/// How open the surface is at a pixel, 0 (deep hollow) to 1: from the highest neighbours over the
/// tangent plane in eight directions, read from the depth buffer.
class Openness {
 public:
  Openness(const RasterCamera& camera, const Raster& raster, double radius_mm)
      : camera_(camera), raster_(raster), radius_mm_(radius_mm) {}

  double at(int x, int y, const Eigen::Vector3f& normal_camera) const {
    const float depth = raster_.depth_mm[raster_.index(x, y)];
    const double px_per_mm = camera_.orthographic ? camera_.fx : camera_.fx / depth;
    const double radius_px = std::min(radius_mm_ * px_per_mm, 120.0);
    if (!(radius_px >= 1)) return 1;
    const Eigen::Vector3f here = point(x, y, depth);
    double closed = 0;
    // Directions turned from pixel to pixel in a 4 x 4 pattern, which supersampling blurs.
    const double phase = ((x & 3) * 4 + (y & 3)) / 16.0;
    for (int k = 0; k < 8; ++k) {
      const double angle = (k + phase) * (2 * M_PI / 8);
      closed += highest(x, y, std::cos(angle) * radius_px, std::sin(angle) * radius_px, here,
                        normal_camera);
    }
    return 1 - closed / 8;
  }

 private:
  static constexpr int kSteps = 4;

  Eigen::Vector3f point(int x, int y, float depth) const {
    const float scale = camera_.orthographic ? 1.f : depth;
    return {float((x - camera_.cx) / camera_.fx) * scale,
            float((y - camera_.cy) / camera_.fy) * scale, depth};
  }

  /// Largest sine of elevation over the tangent plane along one direction, faded with distance.
  float highest(int x, int y, double dx, double dy, const Eigen::Vector3f& here,
                const Eigen::Vector3f& normal) const {
    float best = 0;
    for (int s = 1; s <= kSteps; ++s) {
      const int nx = x + int(std::lround(dx * s / kSteps)),
                ny = y + int(std::lround(dy * s / kSteps));
      if (nx < 0 || ny < 0 || nx >= raster_.width_px || ny >= raster_.height_px) break;
      const float depth = raster_.depth_mm[raster_.index(nx, ny)];
      if (depth == kNothing) continue;
      const Eigen::Vector3f step = point(nx, ny, depth) - here;
      const float distance = step.norm();
      const float fade = 1 - distance / float(2 * radius_mm_);
      if (distance > 1e-6f && fade > 0) best = std::max(best, fade * step.dot(normal) / distance);
    }
    return best;
  }

  const RasterCamera& camera_;
  const Raster& raster_;
  double radius_mm_;
};

/// Surface colour at a pixel before light, 0..255.
Eigen::Vector3f surfaceColour(const TriangleMesh& mesh, const Raster& raster, std::size_t pixel,
                              const ShadeOptions& options) {
  const Eigen::Vector3i& t = mesh.triangles[raster.triangle[pixel]];
  const float w1 = raster.weights[pixel].x(), w2 = raster.weights[pixel].y();
  const float w[3] = {1 - w1 - w2, w1, w2};
  if (options.scalars.size() == mesh.vertices_mm.size()) {
    double value = 0;
    for (int k = 0; k < 3; ++k) value += double(w[k]) * double(options.scalars[t[k]]);
    const double span = options.scalar_high - options.scalar_low;
    const Rgb c = mapColour(options.map, (value - options.scalar_low) / (span != 0 ? span : 1));
    return {float(c[0]), float(c[1]), float(c[2])};
  }
  if (options.vertex_colours && mesh.colours.size() == mesh.vertices_mm.size()) {
    Eigen::Vector3f sum = Eigen::Vector3f::Zero();
    for (int k = 0; k < 3; ++k)
      for (int c = 0; c < 3; ++c) sum[c] += w[k] * float(mesh.colours[t[k]][c]);
    return sum;
  }
  return {float(options.plain[0]), float(options.plain[1]), float(options.plain[2])};
}

/// Averages s x s blocks.
RasterImage shrink(const RasterImage& big, int s) {
  RasterImage out{big.width_px / s, big.height_px / s, {}};
  out.rgb.resize(std::size_t(out.width_px) * out.height_px * 3);
  for (int y = 0; y < out.height_px; ++y)
    for (int x = 0; x < out.width_px; ++x)
      for (int c = 0; c < 3; ++c) {
        int sum = 0;
        for (int j = 0; j < s; ++j)
          for (int i = 0; i < s; ++i)
            sum += big.rgb[(std::size_t(y * s + j) * big.width_px + x * s + i) * 3 + c];
        out.rgb[(std::size_t(y) * out.width_px + x) * 3 + c] =
            std::uint8_t((sum + s * s / 2) / (s * s));
      }
  return out;
}

}  // namespace

Eigen::Vector3d RasterCamera::project(const Eigen::Vector3d& point_mm) const {
  const Eigen::Vector3d p = T_camera_mesh * point_mm;
  const double w = orthographic ? 1 : p.z();
  return {fx * p.x() / w + cx, fy * p.y() / w + cy, p.z()};
}

Raster rasterise(const TriangleMesh& mesh, const RasterCamera& camera) {
  Raster raster{camera.width_px, camera.height_px, {}, {}, {}};
  const std::size_t pixels = std::size_t(camera.width_px) * camera.height_px;
  raster.depth_mm.assign(pixels, kNothing);
  raster.triangle.assign(pixels, -1);
  raster.weights.assign(pixels, Eigen::Vector2f::Zero());

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

  const TileBins bins = binTriangles(boxes, camera.width_px, camera.height_px);
  tbb::parallel_for(0, bins.across * bins.down, [&](int tile) {
    const int x0 = tile % bins.across * kTile, y0 = tile / bins.across * kTile;
    for (std::uint32_t k = bins.start[tile]; k < bins.start[tile + 1]; ++k) {
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

Rgb mapColour(ColourMap map, double t) {
  // Evenly spaced colours, interpolated in sRGB; lightness rises along the sequential one and is
  // highest in the middle of the diverging one, so both read without colour vision.
  static constexpr double kSequential[5][3] = {
      {52, 28, 96}, {52, 92, 142}, {30, 148, 136}, {112, 200, 88}, {250, 230, 50}};
  static constexpr double kDiverging[5][3] = {
      {32, 88, 160}, {130, 180, 220}, {245, 245, 242}, {240, 160, 120}, {176, 28, 44}};
  if (std::isnan(t)) return {128, 128, 128};
  const auto& table = map == ColourMap::Sequential ? kSequential : kDiverging;
  const double s = std::clamp(t, 0.0, 1.0) * 4;
  const int i = std::min(int(s), 3);
  Rgb out;
  for (int c = 0; c < 3; ++c)
    out[c] = std::uint8_t(std::lround(table[i][c] + (s - i) * (table[i + 1][c] - table[i][c])));
  return out;
}

RasterImage shadeMesh(const TriangleMesh& mesh, const RasterCamera& camera, const Raster& raster,
                      const Eigen::Vector3d& up, const ShadeOptions& options) {
  RasterImage image{raster.width_px, raster.height_px, {}};
  image.rgb.resize(raster.triangle.size() * 3);
  const auto normals = rasterNormals(
      mesh, raster, options.smooth ? vertexNormals(mesh) : std::vector<Eigen::Vector3d>());
  const Eigen::Matrix3f R = camera.T_camera_mesh.rotation().cast<float>();
  const Eigen::Vector3f sky = up.normalized().cast<float>();
  // The headlight hangs over the viewer's left shoulder.
  const Eigen::Vector3f lamp = Eigen::Vector3f(-0.35f, -0.45f, -0.82f).normalized();
  const Openness openness(camera, raster, options.occlusion_radius_mm);
  tbb::parallel_for(0, raster.height_px, [&](int y) {
    for (int x = 0; x < raster.width_px; ++x) {
      const std::size_t i = raster.index(x, y);
      std::uint8_t* out = &image.rgb[i * 3];
      if (!raster.covered(i)) {
        std::copy(options.background.begin(), options.background.end(), out);
        continue;
      }
      Eigen::Vector3f n = R * normals[i];
      const bool inside = n.z() > 0.15f;  // Clearly the back of a surface: paint it as if turned.
      if (inside) n = -n;
      const float open = options.occlusion_radius_mm > 0 ? float(openness.at(x, y, n)) : 1.f;
      const float ambient = 0.30f + 0.14f * normals[i].dot(sky);
      const float light = (ambient + 0.62f * std::max(0.f, n.dot(lamp))) *
                          (0.25f + 0.75f * open * open) * (inside ? 0.6f : 1.f);
      const Eigen::Vector3f colour = surfaceColour(mesh, raster, i, options);
      for (int c = 0; c < 3; ++c)
        // Light is multiplied in roughly linear light, as a power of the sRGB value.
        out[c] = std::uint8_t(std::clamp(colour[c] * std::pow(light * 1.15f, 0.6f), 0.f, 255.f));
    }
  });
  return image;
}

RasterCamera fitOrthographic(const TriangleMesh& mesh, const Eigen::Vector3d& from,
                             const Eigen::Vector3d& up, int width_px, int height_px,
                             double margin) {
  const Eigen::Vector3d forward = -from.normalized();
  Eigen::Vector3d right = forward.cross(up);
  if (right.norm() < 1e-9) right = forward.unitOrthogonal();
  right.normalize();
  Eigen::Matrix3d R;
  R.row(0) = right;
  R.row(1) = forward.cross(right);
  R.row(2) = forward;
  Eigen::AlignedBox3d box;
  for (const auto& v : mesh.vertices_mm) box.extend(Eigen::Vector3d(R * v));
  if (box.isEmpty()) box.extend(Eigen::Vector3d(0, 0, 0));
  const Eigen::Vector3d size = box.sizes().cwiseMax(1e-6), centre = box.center();
  RasterCamera camera;
  camera.width_px = width_px;
  camera.height_px = height_px;
  camera.orthographic = true;
  camera.fx = camera.fy = (1 - 2 * margin) * std::min(width_px / size.x(), height_px / size.y());
  camera.cx = (width_px - 1) / 2.0 - camera.fx * centre.x();
  camera.cy = (height_px - 1) / 2.0 - camera.fy * centre.y();
  camera.T_camera_mesh.linear() = R;
  camera.T_camera_mesh.translation() = Eigen::Vector3d(0, 0, 1 - box.min().z());
  return camera;
}

RasterImage renderMesh(const TriangleMesh& mesh, const RasterCamera& camera,
                       const Eigen::Vector3d& up, const ShadeOptions& options) {
  const int s = std::max(1, options.supersampling);
  RasterCamera fine = camera;
  fine.width_px *= s;
  fine.height_px *= s;
  fine.fx *= s;
  fine.fy *= s;
  fine.cx = (camera.cx + 0.5) * s - 0.5;
  fine.cy = (camera.cy + 0.5) * s - 0.5;
  return shrink(shadeMesh(mesh, fine, rasterise(mesh, fine), up, options), s);
}

std::vector<RasterImage> renderTurntableViews(const TriangleMesh& mesh, int count,
                                              double elevation_deg, int width_px, int height_px,
                                              const ShadeOptions& options) {
  const double e = elevation_deg * M_PI / 180;
  const Eigen::Vector3d up(0, 0, 1);
  std::vector<RasterCamera> cameras;
  double scale = std::numeric_limits<double>::infinity();
  for (int k = 0; k < count; ++k) {
    const double a = -M_PI / 2 + 2 * M_PI * k / count;
    const Eigen::Vector3d from(std::cos(e) * std::cos(a), std::cos(e) * std::sin(a), std::sin(e));
    // Seen straight from above, +y is up.
    const Eigen::Vector3d picture_up =
        std::abs(from.z()) > 0.999 ? Eigen::Vector3d(-std::cos(a), -std::sin(a), 0) : up;
    cameras.push_back(fitOrthographic(mesh, from, picture_up, width_px, height_px));
    scale = std::min(scale, cameras.back().fx);
  }
  std::vector<RasterImage> images;
  for (RasterCamera& camera : cameras) {
    const double shrink_by = scale / camera.fx;
    camera.cx = (width_px - 1) / 2.0 + (camera.cx - (width_px - 1) / 2.0) * shrink_by;
    camera.cy = (height_px - 1) / 2.0 + (camera.cy - (height_px - 1) / 2.0) * shrink_by;
    camera.fx = camera.fy = scale;
    images.push_back(renderMesh(mesh, camera, up, options));
  }
  return images;
}

}  // namespace holdshelf
