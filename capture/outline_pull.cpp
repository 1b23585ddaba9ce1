// SPDX-License-Identifier: Apache-2.0
#include "capture/outline_pull.h"

#include <tbb/parallel_for.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <optional>

#include "capture/photo_raster.h"

namespace holdshelf {
namespace {

using Eigen::Vector3d;

constexpr double kGrazingCosine = 0.35;  // An outline vertex is seen at more than 70 degrees.

/// What one photo says of one vertex at one pixel.
struct Word {
  int vertex = 0;
  double offset_mm = 0, weight = 0;
};

cv::Rect partAround(const cv::Rect& inner, int margin, cv::Size size) {
  return cv::Rect(inner.x - margin, inner.y - margin, inner.width + 2 * margin,
                  inner.height + 2 * margin) &
         cv::Rect({0, 0}, size);
}

/// Tells how far a point lies from a mask's edge by how much of the mask a Gaussian window about it
/// holds: across a straight edge at distance d that is the normal law's Phi(d / sigma), whose
/// inverse finds the edge between the pixels, which distances to their centres do not.
class EdgeDistance {
 public:
  explicit EdgeDistance(double reach_px) : reach_px_(reach_px), sigma_px_(reach_px / 2) {
    for (int i = 0; i <= kSteps; ++i)
      share_.push_back(float(0.5 * std::erfc(-at(i) / sigma_px_ / std::sqrt(2.0))));
  }

  /// Share of the window that the mask fills, at every pixel.
  cv::Mat_<float> shares(const cv::Mat& mask) const {
    cv::Mat out;
    mask.convertTo(out, CV_32F, 1 / 255.0);
    cv::GaussianBlur(out, out, {0, 0}, sigma_px_, sigma_px_, cv::BORDER_REPLICATE);
    return out;
  }

  /// Distance for a share, px, positive inside; nullopt beyond the reach.
  std::optional<double> px(float share) const {
    if (share <= share_.front() || share >= share_.back()) return std::nullopt;
    const auto upper = std::upper_bound(share_.begin(), share_.end(), share);
    const int i = int(upper - share_.begin()) - 1;
    return at(i) + (at(i + 1) - at(i)) * (share - share_[i]) / (*upper - share_[i]);
  }

 private:
  static constexpr int kSteps = 80;
  double at(int i) const { return reach_px_ * (2.0 * i / kSteps - 1); }

  double reach_px_, sigma_px_;
  std::vector<float> share_;  // At kSteps + 1 distances from -reach to reach.
};

int nearestCorner(const Eigen::Vector3i& triangle, const Eigen::Vector2f& weights) {
  const float w[3] = {1 - weights[0] - weights[1], weights[0], weights[1]};
  return triangle[int(std::max_element(w, w + 3) - w)];
}

/// Reads one photo.
class OutlineReader {
 public:
  OutlineReader(const TriangleMesh& mesh, const View& view, const OutlineOptions& options)
      : mesh_(mesh), view_(view), options_(options), edge_(options.reach_px) {}

  std::vector<Word> words() const {
    std::vector<Word> out;
    if (view_.mask.empty() || cv::countNonZero(view_.mask) == 0) return out;
    const int margin = int(std::ceil(2 * options_.reach_px));
    const cv::Rect part = partAround(cv::boundingRect(view_.mask), margin, view_.mask.size());
    const Raster raster =
        rasterise(mesh_, rasterCamera(view_.camera, cv::Rect2d(part), 1, part.size()));
    const cv::Mat drawn = drawnMask(raster);
    const cv::Mat_<float> photo = edge_.shares(view_.mask(part)), mesh = edge_.shares(drawn);
    for (int y = 1; y + 1 < part.height; ++y)
      for (int x = 1; x + 1 < part.width; ++x) {
        if (!onEdge(drawn, x, y) || nearFrame(x + part.x, y + part.y)) continue;
        const auto to_photo = edge_.px(photo(y, x)), to_mesh = edge_.px(mesh(y, x));
        if (to_photo && to_mesh) add(raster, x, y, *to_photo - *to_mesh, out);
      }
    return out;
  }

 private:
  static bool onEdge(const cv::Mat& drawn, int x, int y) {
    return drawn.at<std::uint8_t>(y, x) &&
           !(drawn.at<std::uint8_t>(y, x - 1) && drawn.at<std::uint8_t>(y, x + 1) &&
             drawn.at<std::uint8_t>(y - 1, x) && drawn.at<std::uint8_t>(y + 1, x));
  }

  /// What of a gap the mask's own doubt does not explain.
  double beyondDoubt(double gap_px) const {
    return gap_px - std::clamp(gap_px, -options_.doubt_px, options_.doubt_px);
  }

  bool nearFrame(int x, int y) const {
    const int margin = int(options_.reach_px) + 1;
    return x < margin || y < margin || x >= view_.mask.cols - margin ||
           y >= view_.mask.rows - margin;
  }

  void add(const Raster& raster, int x, int y, double gap_px, std::vector<Word>& out) const {
    const size_t i = raster.index(x, y);
    const int v = nearestCorner(mesh_.triangles[raster.triangle[i]], raster.weights[i]);
    const Vector3d &p = mesh_.vertices_mm[v], &n = mesh_.normals[v];
    const Vector3d to_camera = (view_.camera.centre_H_mm() - p).normalized();
    if (std::abs(n.dot(to_camera)) > kGrazingCosine) return;  // A crease or the rim: no shift.
    // How far a millimetre along the normal moves the outline.
    const Vector3d c = view_.camera.T_camera_hold * p;
    const double px_per_mm =
        view_.camera.model.fx_px / c.z() * (n - n.dot(to_camera) * to_camera).norm();
    const double sigma_mm = options_.mask_sigma_px / px_per_mm;
    out.push_back({v, beyondDoubt(gap_px) / px_per_mm, 1 / (sigma_mm * sigma_mm)});
  }

  const TriangleMesh& mesh_;
  const View& view_;
  const OutlineOptions& options_;
  const EdgeDistance edge_;
};

}  // namespace

std::vector<OutlinePull> outlinePulls(const TriangleMesh& mesh, const std::vector<View>& views,
                                      const OutlineOptions& options) {
  std::vector<std::vector<Word>> words(views.size());
  tbb::parallel_for(size_t{0}, views.size(),
                    [&](size_t i) { words[i] = OutlineReader(mesh, views[i], options).words(); });
  std::vector<OutlinePull> out(mesh.vertices_mm.size());
  std::vector<double> weight(out.size(), 0), best(out.size(), 0);
  for (const auto& photo : words)
    for (const Word& w : photo) {
      out[w.vertex].offset_mm += w.weight * w.offset_mm;
      weight[w.vertex] += w.weight;
      best[w.vertex] = std::max(best[w.vertex], w.weight);
    }
  for (size_t v = 0; v < out.size(); ++v) {
    if (weight[v] <= 0) continue;
    out[v].offset_mm /= weight[v];
    // Masks err together (light, blur): many words are not surer than the surest.
    out[v].sigma_mm = 1 / std::sqrt(best[v]);
  }
  return out;
}

}  // namespace holdshelf
