// SPDX-License-Identifier: Apache-2.0
// This work is based on:
// Curless B, Levoy M. A Volumetric Method for Building Complex Models from Range Images. SIGGRAPH
// 1996.
#include "capture/fuse.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>

namespace holdshelf {
namespace {

using Eigen::Vector3d;
using Eigen::Vector3f;

// Of free space against surface. Where a photo grazes the hold, patches at its outline run on to
// the mat behind, and two such photos must not carve away what twenty others see.
constexpr float kFreeSay = 0.1f;

/// A depth map with its projection in single precision, for millions of look-ups.
class DepthLookup {
 public:
  explicit DepthLookup(const DepthMap& map)
      : map_(map),
        rotation_(map.camera.T_camera_hold.linear().cast<float>()),
        translation_(map.camera.T_camera_hold.translation().cast<float>()),
        fx_(static_cast<float>(map.camera.model.fx_px)),
        fy_(static_cast<float>(map.camera.model.fy_px)),
        cx_(static_cast<float>(map.camera.model.cx_px)),
        cy_(static_cast<float>(map.camera.model.cy_px)) {}

  Vector3f toCamera(const Vector3f& point_H) const { return rotation_ * point_H + translation_; }
  const Eigen::Matrix3f& rotation() const { return rotation_; }

  /// Nearest pixel of a point in the camera frame, or false outside the raster.
  bool pixel(const Vector3f& p, int& x, int& y) const {
    if (p.z() <= 0) return false;
    x = static_cast<int>(std::lround(fx_ * p.x() / p.z() + cx_));
    y = static_cast<int>(std::lround(fy_ * p.y() / p.z() + cy_));
    return x >= 0 && y >= 0 && x < map_.depth_mm.cols && y < map_.depth_mm.rows;
  }
  Vector3f ray(int x, int y) const {
    return {(static_cast<float>(x) - cx_) / fx_, (static_cast<float>(y) - cy_) / fy_, 1};
  }
  Vector3f normal(int x, int y) const {
    const cv::Vec3f& n = map_.normal(y, x);
    return {n[0], n[1], n[2]};
  }
  float depth(int x, int y) const { return map_.depth_mm(y, x); }
  float cost(int x, int y) const { return map_.cost(y, x); }
  float footprint_mm(float depth_mm) const { return depth_mm / fx_; }

 private:
  const DepthMap& map_;
  Eigen::Matrix3f rotation_;
  Vector3f translation_;
  float fx_, fy_, cx_, cy_;
};

std::vector<DepthLookup> lookups(const std::vector<DepthMap>& maps) {
  std::vector<DepthLookup> out;
  for (const DepthMap& map : maps) out.emplace_back(map);
  return out;
}

/// Signed distance of a point to one map's surface and how much it counts; weight 0: nothing said.
struct Vote {
  float distance_mm = 0, weight = 0;
};

Vote vote(const DepthLookup& map, const Vector3f& point_H, float truncation_mm) {
  const Vector3f p = map.toCamera(point_H);
  int x, y;
  if (!map.pixel(p, x, y)) return {};
  const float depth = map.depth(x, y);
  if (depth <= 0) return {};
  const Vector3f surface = depth * map.ray(x, y);
  const Vector3f n = map.normal(x, y);
  const float cosine = -n.dot(p.normalized());
  const float in_front = depth - p.z();
  if (in_front < -truncation_mm) return {};
  float distance = n.dot(p - surface);
  float weight = std::max(0.f, 1 - map.cost(x, y)) * std::max(cosine, 0.05f);
  if (in_front > 2 * truncation_mm) {  // Plainly free, if the depth behind is right.
    distance = truncation_mm;
    weight *= kFreeSay;
  }
  if (distance < -truncation_mm) return {};
  // Behind a surface the vote fades, so that the far side of a thin fin can speak for itself.
  if (distance < 0) weight *= 1 + distance / truncation_mm;
  return {std::min(distance, truncation_mm), weight};
}

bool confirms(const DepthLookup& other, const Vector3f& point_H, const Vector3f& normal_H,
              const FuseOptions& options) {
  const Vector3f p = other.toCamera(point_H);
  int x, y;
  if (!other.pixel(p, x, y)) return false;
  const float depth = other.depth(x, y);
  if (depth <= 0) return false;
  const Vector3f n = other.normal(x, y);
  const float off_plane = std::abs(n.dot(p - depth * other.ray(x, y)));
  const float tolerance =
      std::max(0.25f, static_cast<float>(options.agree_px) * other.footprint_mm(depth));
  if (off_plane > tolerance || std::abs(depth - p.z()) > 4 * tolerance) return false;
  return n.dot(other.rotation() * normal_H) > 0.64f;  // cos 50 degrees
}

}  // namespace

void keepConfirmedDepth(std::vector<DepthMap>& maps, const FuseOptions& options) {
  const std::vector<DepthLookup> seen = lookups(maps);
  std::vector<cv::Mat_<float>> kept(maps.size());
  tbb::parallel_for(size_t{0}, maps.size(), [&](size_t i) {
    kept[i] = maps[i].depth_mm.clone();
    const Eigen::Isometry3f T_hold_camera = maps[i].camera.T_camera_hold.inverse().cast<float>();
    for (int y = 0; y < kept[i].rows; ++y)
      for (int x = 0; x < kept[i].cols; ++x) {
        if (kept[i](y, x) <= 0) continue;
        const Vector3f point = T_hold_camera * (seen[i].depth(x, y) * seen[i].ray(x, y));
        const Vector3f normal = T_hold_camera.linear() * seen[i].normal(x, y);
        int agreeing = 0;
        for (size_t j = 0; j < maps.size() && agreeing < options.agree_views; ++j)
          if (j != i) agreeing += confirms(seen[j], point, normal, options);
        if (agreeing < options.agree_views) kept[i](y, x) = 0;
      }
  });
  for (size_t i = 0; i < maps.size(); ++i) maps[i].depth_mm = kept[i];
}

VoxelGrid fuseDepth(const std::vector<DepthMap>& maps, const VoxelGrid& hull,
                    const FuseOptions& options) {
  const double cell = options.cell_mm;
  const float truncation = static_cast<float>(options.truncation_cells * cell);
  VoxelGrid grid;
  grid.cell_mm = cell;
  grid.origin_mm = hull.origin_mm - Vector3d::Constant(2 * cell);
  if (options.close_at_wall)  // A layer of nodes lies exactly on the wall.
    grid.origin_mm.z() = -2 * cell;
  const Vector3d top =
      hull.origin_mm + hull.cell_mm * (hull.nodes.cast<double>() - Vector3d::Ones());
  grid.nodes = (((top - grid.origin_mm) / cell).array().ceil() + 3).cast<int>();
  grid.value.assign(static_cast<size_t>(grid.nodes.x()) * grid.nodes.y() * grid.nodes.z(),
                    truncation);
  const std::vector<DepthLookup> seen = lookups(maps);
  tbb::parallel_for(0, grid.nodes.z(), [&](int z) {
    for (int y = 0; y < grid.nodes.y(); ++y)
      for (int x = 0; x < grid.nodes.x(); ++x) {
        const Vector3d at = grid.position_mm(x, y, z);
        const double outside = hull.interpolate(at);
        float& value = grid.value[grid.index(x, y, z)];
        if (outside > truncation) continue;
        float sum = 0, weight = 0;
        for (const DepthLookup& map : seen) {
          const Vote v = vote(map, at.cast<float>(), truncation);
          sum += v.weight * v.distance_mm;
          weight += v.weight;
        }
        const bool said = weight > 0.05f;
        const float measured = said ? sum / weight : -truncation;
        const double slack = said ? options.hull_slack_mm : 0;
        value = std::max(measured, static_cast<float>(outside - slack));
        value = std::clamp(value, -truncation, truncation);
      }
  });
  keepLargestSolid(grid, truncation);
  if (options.close_at_wall)
    for (int z = 0; z < grid.nodes.z(); ++z)
      for (int y = 0; y < grid.nodes.y(); ++y)
        for (int x = 0; x < grid.nodes.x(); ++x) {
          float& value = grid.value[grid.index(x, y, z)];
          value = std::max(value, static_cast<float>(-grid.position_mm(x, y, z).z()));
        }
  return grid;
}

}  // namespace holdshelf
