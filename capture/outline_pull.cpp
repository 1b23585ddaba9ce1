// SPDX-License-Identifier: Apache-2.0
#include "capture/outline_pull.h"

#include <tbb/parallel_for.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "mesh/raster.h"

namespace holdshelf {
namespace {

using Eigen::Vector2d;
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

/// Distance of every pixel's centre to a mask's edge, px, positive inside. The edge lies half-way
/// between the centres inside and outside.
cv::Mat_<float> distanceToEdge(const cv::Mat& mask) {
  cv::Mat inside, outside;
  cv::distanceTransform(mask, inside, cv::DIST_L2, cv::DIST_MASK_PRECISE);
  cv::distanceTransform(mask == 0, outside, cv::DIST_L2, cv::DIST_MASK_PRECISE);
  cv::Mat_<float> out(mask.size());
  for (int y = 0; y < mask.rows; ++y)
    for (int x = 0; x < mask.cols; ++x)
      out(y, x) = mask.at<std::uint8_t>(y, x) ? inside.at<float>(y, x) - 0.5f
                                              : 0.5f - outside.at<float>(y, x);
  // The stair-steps of a binary mask are no shape.
  cv::GaussianBlur(out, out, {5, 5}, 1.0);
  return out;
}

RasterCamera rasterCamera(const View& view, const cv::Rect& part) {
  RasterCamera out;
  out.width_px = part.width;
  out.height_px = part.height;
  out.fx = view.camera.model.fx_px;
  out.fy = view.camera.model.fy_px;
  out.cx = view.camera.model.cx_px - part.x;
  out.cy = view.camera.model.cy_px - part.y;
  out.T_camera_mesh = view.camera.T_camera_hold;
  return out;
}

int nearestCorner(const Eigen::Vector3i& triangle, const Eigen::Vector2f& weights) {
  const float w[3] = {1 - weights[0] - weights[1], weights[0], weights[1]};
  return triangle[int(std::max_element(w, w + 3) - w)];
}

/// Reads one photo.
class OutlineReader {
 public:
  OutlineReader(const TriangleMesh& mesh, const View& view, const OutlineOptions& options)
      : mesh_(mesh), view_(view), options_(options) {}

  std::vector<Word> words() const {
    std::vector<Word> out;
    if (view_.mask.empty() || cv::countNonZero(view_.mask) == 0) return out;
    const int margin = int(std::ceil(options_.reach_px)) + 4;
    const cv::Rect part = partAround(cv::boundingRect(view_.mask), margin, view_.mask.size());
    const Raster raster = rasterise(mesh_, rasterCamera(view_, part));
    cv::Mat drawn(part.size(), CV_8UC1, cv::Scalar(0));
    for (size_t i = 0; i < raster.triangle.size(); ++i)
      if (raster.covered(i)) drawn.data[i] = 255;
    const cv::Mat_<float> photo = distanceToEdge(view_.mask(part)), mesh = distanceToEdge(drawn);
    for (int y = 1; y + 1 < part.height; ++y)
      for (int x = 1; x + 1 < part.width; ++x)
        if (onEdge(drawn, x, y)) add(raster, x, y, photo(y, x) - mesh(y, x), part, out);
    return out;
  }

 private:
  static bool onEdge(const cv::Mat& drawn, int x, int y) {
    return drawn.at<std::uint8_t>(y, x) &&
           !(drawn.at<std::uint8_t>(y, x - 1) && drawn.at<std::uint8_t>(y, x + 1) &&
             drawn.at<std::uint8_t>(y - 1, x) && drawn.at<std::uint8_t>(y + 1, x));
  }

  bool nearFrame(int x, int y) const {
    const int margin = int(options_.reach_px) + 1;
    return x < margin || y < margin || x >= view_.mask.cols - margin ||
           y >= view_.mask.rows - margin;
  }

  void add(const Raster& raster, int x, int y, double gap_px, const cv::Rect& part,
           std::vector<Word>& out) const {
    if (std::abs(gap_px) > options_.reach_px || nearFrame(x + part.x, y + part.y)) return;
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
    out.push_back({v, gap_px / px_per_mm, 1 / (sigma_mm * sigma_mm)});
  }

  const TriangleMesh& mesh_;
  const View& view_;
  const OutlineOptions& options_;
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
