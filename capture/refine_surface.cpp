// SPDX-License-Identifier: Apache-2.0
#include "capture/refine_surface.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <opencv2/core.hpp>
#include <utility>

#include "capture/offset_balance.h"
#include "capture/outline_pull.h"
#include "capture/vertex_search.h"
#include "mesh/bad_input.h"
#include "mesh/ray_scene.h"

namespace holdshelf {
namespace {

using Eigen::Vector3d;

constexpr double kSteepestCosine = 0.3;  // A view sees a vertex at less than 72 degrees.

class Refiner {
 public:
  Refiner(TriangleMesh& mesh, const std::vector<View>& views, const VoxelGrid& hull,
          const RefineOptions& options)
      : mesh_(mesh),
        views_(views),
        hull_(hull),
        options_(options),
        ring_(vertexRings(mesh)),
        search_(mesh, views, ring_) {
    pinned_.resize(mesh.vertices_mm.size());
    for (size_t v = 0; v < pinned_.size(); ++v)
      pinned_[v] = options.on_wall && mesh.vertices_mm[v].z() < 1e-9;
  }

  void run(const Progress& progress) {
    const size_t count = mesh_.vertices_mm.size();
    findings_.resize(count);
    double reach_px = options_.reach_px;
    for (int round = 0; round < options_.rounds; ++round) {
      if (progress && !progress("Refining the surface", double(round) / options_.rounds))
        throw Interrupted();
      mesh_.normals = vertexNormals(mesh_);
      if (round < 3) findVisibleViews();
      if (options_.outline_weight > 0) pulls_ = outlinePulls(mesh_, views_);
      const bool bend = round > 0;
      tbb::parallel_for(size_t{0}, count, [&](size_t v) {
        findings_[v] = pinned_[v] ? VertexFinding{}
                                  : search_.find(static_cast<int>(v), visible_[v], reach_px, bend);
      });
      moveVertices();
      reach_px = std::max(0.5, reach_px / 2);
    }
    writeAttributes();
  }

 private:
  void findVisibleViews() {
    const RayScene scene(mesh_);
    visible_.assign(mesh_.vertices_mm.size(), {});
    tbb::parallel_for(size_t{0}, mesh_.vertices_mm.size(), [&](size_t v) {
      if (pinned_[v]) return;
      std::vector<std::pair<double, int>> scored;
      const Vector3d& p = mesh_.vertices_mm[v];
      const Vector3d& n = mesh_.normals[v];
      for (size_t i = 0; i < views_.size(); ++i) {
        const Vector3d to_camera = views_[i].camera.centre_H_mm() - p;
        const double cosine = n.dot(to_camera.normalized());
        if (cosine < kSteepestCosine || !inMask(static_cast<int>(i), p)) continue;
        scored.emplace_back(-cosine, static_cast<int>(i));
      }
      std::sort(scored.begin(), scored.end());
      for (const auto& [score, i] : scored) {
        if (static_cast<int>(visible_[v].size()) >= options_.most_views) break;
        if (!scene.occluded(p + 0.3 * n, views_[i].camera.centre_H_mm(), 0.05))
          visible_[v].push_back(i);
      }
    });
  }

  bool inMask(int i, const Vector3d& p) const {
    const auto q = views_[i].camera.project(p);
    if (!q) return false;
    const int x = static_cast<int>(std::lround(q->x())), y = static_cast<int>(std::lround(q->y()));
    const cv::Mat& mask = views_[i].mask;
    return x >= 0 && y >= 0 && x < mask.cols && y < mask.rows && mask.at<std::uint8_t>(y, x) > 0;
  }

  /// Moves the vertices by the balance of findings and smoothness.
  void moveVertices() {
    const Balance balance =
        balanceOffsets(mesh_, {ring_, pinned_, findings_, pulls_, options_.smooth_mm,
                               options_.outline_weight, options_.smooth_steps});
    for (size_t v = 0; v < pinned_.size(); ++v) {
      if (pinned_[v]) continue;
      Vector3d& p = mesh_.vertices_mm[v];
      const Vector3d& n = mesh_.normals[v];
      // Along the surface a little towards the middle of the ring, to keep the triangles even.
      const Vector3d along = balance.laplace[v] - n * n.dot(balance.laplace[v]);
      p += balance.offset_mm[v] * n + 0.2 * along;
      // No photo shows anything outside of the silhouettes, give or take what a mask's edge may
      // err.
      const double outside = hull_.interpolate(p) - options_.hull_slack_mm;
      if (outside > 0) p -= std::min(outside, 1.0) * n;
      if (options_.on_wall) p.z() = std::max(p.z(), 1e-3);
    }
  }

  void writeAttributes() {
    const size_t count = mesh_.vertices_mm.size();
    mesh_.normals = vertexNormals(mesh_);
    mesh_.sigma_mm.assign(count, 0.f);
    mesh_.guesswork.assign(count, 0);
    for (size_t v = 0; v < count; ++v) {
      const VertexFinding& f = findings_[v];
      const bool guess = !pinned_[v] && !f.seen;
      mesh_.guesswork[v] = guess;
      mesh_.sigma_mm[v] = static_cast<float>(guess ? 1.0 : std::max(f.sigma_mm, 0.002));
    }
  }

  TriangleMesh& mesh_;
  const std::vector<View>& views_;
  const VoxelGrid& hull_;
  const RefineOptions options_;
  const std::vector<std::vector<int>> ring_;
  const VertexSearch search_;
  std::vector<char> pinned_;
  std::vector<std::vector<int>> visible_;
  std::vector<VertexFinding> findings_;
  std::vector<OutlinePull> pulls_;
};

}  // namespace

void refineSurface(TriangleMesh& mesh, const std::vector<View>& views, const VoxelGrid& hull,
                   const RefineOptions& options, const Progress& progress) {
  Refiner(mesh, views, hull, options).run(progress);
}

}  // namespace holdshelf
