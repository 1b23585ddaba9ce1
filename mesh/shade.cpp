// SPDX-License-Identifier: Apache-2.0
#include "mesh/shade.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <limits>

namespace holdshelf {
namespace {

constexpr float kNothing = std::numeric_limits<float>::infinity();  // Depth where nothing is.

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

}  // namespace

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
  return shrunk(shadeMesh(mesh, fine, rasterise(mesh, fine), up, options), s);
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
