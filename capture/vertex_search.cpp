// SPDX-License-Identifier: Apache-2.0
#include "capture/vertex_search.h"

#include <tbb/parallel_for.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <limits>
#include <opencv2/imgproc.hpp>

namespace holdshelf {
namespace {

using Eigen::Matrix3d;
using Eigen::Vector2d;
using Eigen::Vector3d;

constexpr double kLeastCorrelation = 0.35;  // Below this the photos do not agree.
constexpr double kSharpestRadiusMm = 1.5;   // The patch bends no more than this.
// Neighbouring samples share pixels and the lens's blur: so many count as independent.
constexpr double kIndependentShare = 0.35;
constexpr double kLongestReach_mm = 2.5;
// Kept of each photo around the mesh: a patch's reach, as much again for vertices that move, and
// the patch itself with the pixels between which it is sampled.
constexpr double kRoom_mm = 2 * kLongestReach_mm;
constexpr int kRoom_px = 16;

/// How the views that see a point stand to it.
struct Parallax {
  double footprint_mm = 1e30;  ///< Of a pixel, in the view that shows it largest.
  double spread = 0;  ///< How far points slide over each other a millimetre along the normal.
};

Parallax parallaxAt(const std::vector<View>& all, const std::vector<int>& visible, int views,
                    const Vector3d& p, const Vector3d& n, const Vector3d& tx, const Vector3d& ty) {
  Parallax out;
  Vector2d mean_slide = Vector2d::Zero();
  std::array<Vector2d, kMostPatchViews> slide;
  for (int k = 0; k < views; ++k) {
    const PosedCamera& camera = all[visible[k]].camera;
    out.footprint_mm =
        std::min(out.footprint_mm, (camera.T_camera_hold * p).z() / camera.model.fx_px);
    const Vector3d d = camera.centre_H_mm() - p;
    slide[k] = Vector2d(d.dot(tx), d.dot(ty)) / d.dot(n);
    mean_slide += slide[k] / views;
  }
  for (int k = 0; k < views; ++k) out.spread += (slide[k] - mean_slide).squaredNorm() / views;
  out.spread = std::sqrt(out.spread);
  return out;
}

/// The part of a view in which the mesh lies, with some room; empty where it does not show.
cv::Rect regionOf(const TriangleMesh& mesh, const View& view) {
  const CameraModel& model = view.camera.model;
  Eigen::AlignedBox2d seen_px;
  double nearest_mm = std::numeric_limits<double>::infinity();
  for (const Vector3d& p : mesh.vertices_mm) {
    const Vector3d c = view.camera.T_camera_hold * p;
    if (!(c.z() > 0)) continue;
    seen_px.extend(Vector2d(model.fx_px * c.x() / c.z() + model.cx_px,
                            model.fy_px * c.y() / c.z() + model.cy_px));
    nearest_mm = std::min(nearest_mm, c.z());
  }
  const cv::Rect frame(0, 0, view.bgr.cols, view.bgr.rows);
  if (seen_px.isEmpty()) return {};
  const Vector2d room = Vector2d::Constant(kRoom_mm * model.fx_px / nearest_mm + kRoom_px);
  // Far outside of the frame, numbers are too large for a cv::Rect.
  const Eigen::AlignedBox2d part =
      Eigen::AlignedBox2d(seen_px.min() - room, seen_px.max() + room)
          .intersection({Vector2d(0, 0), Vector2d(frame.width, frame.height)});
  if (part.isEmpty()) return {};
  const Eigen::Vector2i low = part.min().cast<int>(), high = part.max().cast<int>();
  return cv::Rect(cv::Point(low.x(), low.y()), cv::Point(high.x(), high.y()));
}

/// A part of a photo in grey. Bilinear sampling wants an image without the finest detail.
cv::Mat softGrey(const cv::Mat& bgr, const cv::Rect& part) {
  // The blur reaches two pixels over the part's rim.
  const cv::Rect wide = (part + cv::Size(4, 4) - cv::Point(2, 2)) & cv::Rect({}, bgr.size());
  cv::Mat grey, soft;
  cv::cvtColor(bgr(wide), grey, cv::COLOR_BGR2GRAY);
  grey.convertTo(grey, CV_32F);
  cv::GaussianBlur(grey, soft, {5, 5}, 0.6);
  return soft(part - wide.tl());
}

}  // namespace

std::vector<std::vector<int>> vertexRings(const TriangleMesh& mesh) {
  std::vector<std::vector<int>> ring(mesh.vertices_mm.size());
  for (const Eigen::Vector3i& t : mesh.triangles)
    for (int k = 0; k < 3; ++k) ring[t[k]].push_back(t[(k + 1) % 3]);
  return ring;  // On a closed mesh each neighbour appears exactly once.
}

VertexSearch::VertexSearch(const TriangleMesh& mesh, const std::vector<View>& views,
                           const std::vector<std::vector<int>>& rings)
    : mesh_(mesh), views_(views), ring_(rings) {
  grey_.resize(views.size());
  tbb::parallel_for(size_t{0}, views.size(), [&](size_t i) {
    const cv::Rect part = regionOf(mesh, views[i]);
    if (!part.empty()) grey_[i] = {softGrey(views[i].bgr, part), Vector2d(part.x, part.y)};
  });
}

Vector3d VertexSearch::curvature(int v, const Vector3d& tx, const Vector3d& ty) const {
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

VertexFinding VertexSearch::find(int v, const std::vector<int>& visible, double reach_px,
                                 bool bend) const {
  VertexFinding out;
  const int views = std::min<int>(kMostPatchViews, static_cast<int>(visible.size()));
  if (views < 2) return out;
  const Vector3d &p = mesh_.vertices_mm[v], &n = mesh_.normals[v];
  const Vector3d tx = n.unitOrthogonal(), ty = n.cross(tx);
  const auto [footprint, spread] = parallaxAt(views_, visible, views, p, n, tx, ty);
  if (spread < 0.05) return out;  // All from one direction: no depth.
  const double reach_mm = std::min(reach_px * footprint / spread, kLongestReach_mm);
  const Vector3d bent = bend ? curvature(v, tx, ty) : Vector3d(Vector3d::Zero());
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

void VertexSearch::addView(PatchSampler& sampler, int i, const Vector3d& p, const Vector3d& tx,
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
  sampler.addView(grey_[i].pixels, q - grey_[i].corner_px, along, cosine);
}

}  // namespace holdshelf
