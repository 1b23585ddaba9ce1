// SPDX-License-Identifier: Apache-2.0
#include "capture/refine_surface.h"

#include <tbb/parallel_for.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "capture/outline_pull.h"
#include "capture/patch_sampler.h"
#include "mesh/bad_input.h"
#include "mesh/ray_scene.h"

namespace holdshelf {
namespace {

using Eigen::Matrix3d;
using Eigen::Vector2d;
using Eigen::Vector3d;

constexpr double kSteepestCosine = 0.3;     // A view sees a vertex at less than 72 degrees.
constexpr double kLeastCorrelation = 0.35;  // Below this the photos do not agree.
constexpr double kSharpestRadiusMm = 1.5;   // The patch bends no more than this.
// Neighbouring samples share pixels and the lens's blur: so many count as independent.
constexpr double kIndependentShare = 0.35;

std::vector<std::vector<int>> rings(const TriangleMesh& mesh) {
  std::vector<std::vector<int>> ring(mesh.vertices_mm.size());
  for (const Eigen::Vector3i& t : mesh.triangles)
    for (int k = 0; k < 3; ++k) ring[t[k]].push_back(t[(k + 1) % 3]);
  return ring;  // On a closed mesh each neighbour appears exactly once.
}

/// What one vertex learnt from the photos.
struct Finding {
  double offset_mm = 0;
  double sigma_mm = 0;   // 0: the photos said nothing.
  bool seen = false;     // By two good views at least.
  double patch_mm2 = 0;  // Area of the patch that was compared.
};

class Refiner {
 public:
  Refiner(TriangleMesh& mesh, const std::vector<View>& views, const VoxelGrid& hull,
          const RefineOptions& options)
      : mesh_(mesh), views_(views), hull_(hull), options_(options), ring_(rings(mesh)) {
    grey_.resize(views.size());
    tbb::parallel_for(size_t{0}, views.size(), [&](size_t i) {
      cv::Mat grey;
      cv::cvtColor(views[i].bgr, grey, cv::COLOR_BGR2GRAY);
      grey.convertTo(grey, CV_32F);
      // Bilinear sampling wants an image without the finest detail.
      cv::GaussianBlur(grey, grey_[i], {5, 5}, 0.6);
    });
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
      bend_ = round > 0;
      tbb::parallel_for(size_t{0}, count, [&](size_t v) {
        findings_[v] = pinned_[v] ? Finding{} : search(static_cast<int>(v), reach_px);
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

  /// Quadratic height over the tangent plane, z = (a x^2 + 2 b x y + c y^2) / 2, from two rings.
  Vector3d curvature(int v, const Vector3d& tx, const Vector3d& ty) const {
    Eigen::Matrix<double, 5, 5> A = Eigen::Matrix<double, 5, 5>::Identity() * 1e-3;
    Eigen::Matrix<double, 5, 1> b = Eigen::Matrix<double, 5, 1>::Zero();
    const Vector3d& n = mesh_.normals[v];
    const auto add = [&](int u) {
      const Vector3d d = mesh_.vertices_mm[u] - mesh_.vertices_mm[v];
      const double x = d.dot(tx), y = d.dot(ty), z = d.dot(n);
      Eigen::Matrix<double, 5, 1> row;
      row << x * x / 2, x * y, y * y / 2, x, y;
      A += row * row.transpose();
      b += row * z;
    };
    for (int u : ring_[v]) {
      add(u);
      for (int w : ring_[u])
        if (w != v) add(w);
    }
    const Vector3d q = A.ldlt().solve(b).head<3>();
    const double strongest = std::hypot((q[0] - q[2]) / 2, q[1]) + std::abs(q[0] + q[2]) / 2;
    const double most = 1 / kSharpestRadiusMm;
    return strongest > most ? Vector3d(q * (most / strongest)) : q;
  }

  Finding search(int v, double reach_px) const {
    Finding out;
    const std::vector<int>& visible = visible_[v];
    const int views = std::min<int>(kMostPatchViews, static_cast<int>(visible.size()));
    if (views < 2) return out;
    const Vector3d &p = mesh_.vertices_mm[v], &n = mesh_.normals[v];
    const Vector3d tx = n.unitOrthogonal(), ty = n.cross(tx);
    double footprint = 1e30;
    Vector2d mean_slide = Vector2d::Zero();
    std::array<Vector2d, kMostPatchViews> slide;
    for (int k = 0; k < views; ++k) {
      const PosedCamera& camera = views_[visible[k]].camera;
      footprint = std::min(footprint, (camera.T_camera_hold * p).z() / camera.model.fx_px);
      const Vector3d d = camera.centre_H_mm() - p;
      slide[k] = Vector2d(d.dot(tx), d.dot(ty)) / d.dot(n);
      mean_slide += slide[k] / views;
    }
    double spread = 0;
    for (int k = 0; k < views; ++k) spread += (slide[k] - mean_slide).squaredNorm() / views;
    spread = std::sqrt(spread);
    if (spread < 0.05) return out;  // All from one direction: no depth.
    const double reach_mm = std::min(reach_px * footprint / spread, 2.5);
    const Vector3d bent = bend_ ? curvature(v, tx, ty) : Vector3d(Vector3d::Zero());
    PatchSampler sampler(footprint, bent, reach_mm);
    for (int k = 0; k < views; ++k) addView(sampler, visible[k], p, tx, ty, n);
    const PatchPeak peak = sampler.best();
    out.seen = peak.correlation > kLeastCorrelation && peak.views >= 2;
    if (!out.seen) return out;
    out.offset_mm = peak.offset_mm;
    if (peak.curvature <= 0) {  // At the end of the reach: go there, trust little.
      out.sigma_mm = reach_mm;
      return out;
    }
    const double independent = kIndependentShare * kPatchSamples * peak.views / 2;
    const double variance = (1 - peak.correlation) / (peak.curvature * independent);
    out.sigma_mm = std::min(reach_mm, std::sqrt(std::max(variance, 1e-6)));
    out.patch_mm2 = kPatchSamples * footprint * footprint;
    return out;
  }

  void addView(PatchSampler& sampler, int i, const Vector3d& p, const Vector3d& tx,
               const Vector3d& ty, const Vector3d& n) const {
    const PosedCamera& camera = views_[i].camera;
    const Vector3d c = camera.T_camera_hold * p;
    const Matrix3d R = camera.T_camera_hold.linear();
    const double iz = 1 / c.z();
    const Vector2d q(camera.model.fx_px * c.x() * iz + camera.model.cx_px,
                     camera.model.fy_px * c.y() * iz + camera.model.cy_px);
    Eigen::Matrix<double, 2, 3> J;
    J << camera.model.fx_px * iz, 0, -camera.model.fx_px * c.x() * iz * iz, 0,
        camera.model.fy_px * iz, -camera.model.fy_px * c.y() * iz * iz;
    Eigen::Matrix<double, 2, 3> along;
    along << J * R * tx, J * R * ty, J * R * n;
    const double cosine = n.dot((camera.centre_H_mm() - p).normalized());
    sampler.addView(grey_[i], q, along, cosine);
  }

  /// Balances the findings against smoothness and moves the vertices.
  void moveVertices() {
    const size_t count = mesh_.vertices_mm.size();
    std::vector<double> offset(count, 0.0), next(count);
    std::vector<Vector3d> laplace(count);
    const double stiffness = 1 / (options_.smooth_mm * options_.smooth_mm);
    const double vertex_mm2 = meanVertexArea();
    for (size_t v = 0; v < count; ++v)
      offset[v] = findings_[v].sigma_mm > 0 ? findings_[v].offset_mm : 0;
    const auto at = [&](int v) {
      return Vector3d(mesh_.vertices_mm[v] + offset[v] * mesh_.normals[v]);
    };
    for (int step = 0; step < options_.smooth_steps; ++step) {
      tbb::parallel_for(size_t{0}, count, [&](size_t v) {
        Vector3d mean = Vector3d::Zero();
        for (int u : ring_[v]) mean += at(u);
        laplace[v] = mean / static_cast<double>(ring_[v].size()) - at(static_cast<int>(v));
      });
      tbb::parallel_for(size_t{0}, count, [&](size_t v) {
        next[v] = 0;
        if (pinned_[v]) return;
        Vector3d mean = Vector3d::Zero();
        bool at_rim = false;
        for (int u : ring_[v]) {
          mean += laplace[u];
          at_rim = at_rim || pinned_[u];
        }
        const double degree = static_cast<double>(ring_[v].size());
        // Next to the sharp rim the plate would bend round it: a plain membrane there.
        const Vector3d second = at_rim ? Vector3d(-laplace[v] * 0.3)
                                       : Vector3d((mean / degree - laplace[v]) / (1 + 1 / degree));
        const double smooth = offset[v] - second.dot(mesh_.normals[v]);
        const Finding& f = findings_[v];
        // The patches of neighbours overlap and err together: each has only its share of a say.
        const double sharing = std::max(1.0, 0.5 * f.patch_mm2 / vertex_mm2);
        const double variance = std::max(f.sigma_mm * f.sigma_mm, 1e-5) * sharing;
        const double trust = f.sigma_mm > 0 ? 1 / variance : 0;
        const double pull = outlineTrust(v);
        const double pulled = pull > 0 ? pulls_[v].offset_mm : 0;
        next[v] =
            (trust * f.offset_mm + pull * pulled + stiffness * smooth) / (trust + pull + stiffness);
      });
      std::swap(offset, next);
    }
    for (size_t v = 0; v < count; ++v) {
      if (pinned_[v]) continue;
      Vector3d& p = mesh_.vertices_mm[v];
      const Vector3d& n = mesh_.normals[v];
      // Along the surface a little towards the middle of the ring, to keep the triangles even.
      const Vector3d along = laplace[v] - n * n.dot(laplace[v]);
      p += offset[v] * n + 0.2 * along;
      // No photo shows anything outside of the silhouettes, give or take what a mask's edge may
      // err.
      const double outside = hull_.interpolate(p) - options_.hull_slack_mm;
      if (outside > 0) p -= std::min(outside, 1.0) * n;
      if (options_.on_wall) p.z() = std::max(p.z(), 1e-3);
    }
  }

  double outlineTrust(size_t v) const {
    if (pulls_.empty() || pulls_[v].sigma_mm <= 0) return 0;
    return options_.outline_weight / (pulls_[v].sigma_mm * pulls_[v].sigma_mm);
  }

  double meanVertexArea() const {
    double twice = 0;
    for (const Eigen::Vector3i& t : mesh_.triangles) {
      const Vector3d& a = mesh_.vertices_mm[t[0]];
      twice += (mesh_.vertices_mm[t[1]] - a).cross(mesh_.vertices_mm[t[2]] - a).norm();
    }
    return twice / 2 / static_cast<double>(mesh_.vertices_mm.size());
  }

  void writeAttributes() {
    const size_t count = mesh_.vertices_mm.size();
    mesh_.normals = vertexNormals(mesh_);
    mesh_.sigma_mm.assign(count, 0.f);
    mesh_.guesswork.assign(count, 0);
    for (size_t v = 0; v < count; ++v) {
      const Finding& f = findings_[v];
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
  std::vector<cv::Mat_<float>> grey_;
  std::vector<char> pinned_;
  std::vector<std::vector<int>> visible_;
  std::vector<Finding> findings_;
  std::vector<OutlinePull> pulls_;
  bool bend_ = false;
};

}  // namespace

void refineSurface(TriangleMesh& mesh, const std::vector<View>& views, const VoxelGrid& hull,
                   const RefineOptions& options, const Progress& progress) {
  Refiner(mesh, views, hull, options).run(progress);
}

}  // namespace holdshelf
