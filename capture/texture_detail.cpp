// SPDX-License-Identifier: Apache-2.0
#include "capture/texture_detail.h"

#include <tbb/parallel_for.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "capture/mat_background.h"
#include "capture/sight.h"
#include "mesh/bad_input.h"
#include "mesh/srgb.h"

namespace holdshelf {
namespace {

using Eigen::Vector2d;
using Eigen::Vector3d;

constexpr double kFloor_mm = 3;       // The foot meets the mat there.
constexpr double kOwnBlur_px = 0.7;   // Lens, pixel and interpolation together.
constexpr double kMostOwnBlur = 0.8;  // Of the band.
constexpr double kSurround = 3;       // The outer Gaussian over the inner one.
constexpr std::size_t kLeastPhotos = 3;
constexpr std::size_t kLeastPoints = 16;  // Of a cell.

using Cell = std::array<int, 3>;

Cell cellOf(const Vector3d& p, double size_mm) {
  return {int(std::floor(p.x() / size_mm)), int(std::floor(p.y() / size_mm)),
          int(std::floor(p.z() / size_mm))};
}

/// A point looked at, and the details that its best photos show.
struct Point {
  Vector3d at, normal;
  std::vector<std::pair<double, std::size_t>> photos;  // Weight and view, best first.
  double sum = 0, squares = 0;
  std::size_t count = 0;

  /// Mean of d_i d_j over all pairs.
  double shared() const {
    const double n = double(count);
    return (sum * sum - squares) / (n * (n - 1));
  }
};

/// One vertex of each small box.
std::vector<Point> pointsOn(const TriangleMesh& mesh, double spacing_mm) {
  const std::vector<Vector3d> normals =
      mesh.normals.size() == mesh.vertices_mm.size() ? mesh.normals : vertexNormals(mesh);
  std::map<Cell, std::size_t> first;
  for (std::size_t i = 0; i < mesh.vertices_mm.size(); ++i) {
    const bool guess = !mesh.guesswork.empty() && mesh.guesswork[i] != 0;
    if (guess || mesh.vertices_mm[i].z() < kFloor_mm || normals[i].isZero()) continue;
    first.emplace(cellOf(mesh.vertices_mm[i], spacing_mm), i);
  }
  std::vector<Point> points;
  for (const auto& [cell, i] : first)
    points.push_back({mesh.vertices_mm[i], normals[i], {}, 0, 0, 0});
  return points;
}

/// Linear luminance, BT.709, CV_32FC1.
cv::Mat luminance(const cv::Mat& bgr) {
  std::array<float, 256> linear{};
  for (int i = 0; i < 256; ++i) linear[std::size_t(i)] = linearFromSrgb(std::uint8_t(i));
  cv::Mat out(bgr.size(), CV_32FC1);
  for (int y = 0; y < bgr.rows; ++y)
    for (int x = 0; x < bgr.cols; ++x) {
      const cv::Vec3b& c = bgr.at<cv::Vec3b>(y, x);
      out.at<float>(y, x) =
          0.0722F * linear[c[0]] + 0.7152F * linear[c[1]] + 0.2126F * linear[c[2]];
    }
  return out;
}

float bilinear(const cv::Mat& picture, double u, double v) {
  const int x = int(u), y = int(v);
  const float fx = float(u - x), fy = float(v - y);
  const float* row = picture.ptr<float>(y) + x;
  const float* next = picture.ptr<float>(y + 1) + x;
  return (1 - fy) * ((1 - fx) * row[0] + fx * row[1]) + fy * ((1 - fx) * next[0] + fx * next[1]);
}

/// The tangent plane's grid, and how it falls into one photo near one point: to first order, which
/// over the few millimetres of a grid is less than a tenth of a pixel off.
class Patch {
 public:
  explicit Patch(double band_mm) : band_mm_(band_mm), step_mm_(band_mm / 2) {
    half_ = int(std::ceil(2 * kSurround * band_mm / step_mm_));
  }

  /// d at the point; nullopt where the grid leaves the picture, the hold, or the light.
  std::optional<double> detail(const View& view, const cv::Mat& light, const Point& point,
                               const Seen& seen) const {
    const Vector3d across = point.normal.unitOrthogonal(), along = point.normal.cross(across);
    const auto right = view.camera.project(point.at + across),
               up = view.camera.project(point.at + along);
    if (!right || !up) return std::nullopt;
    const Vector2d du = step_mm_ * (*right - seen.pixel), dv = step_mm_ * (*up - seen.pixel);
    const double reach = half_ * (du.cwiseAbs() + dv.cwiseAbs()).maxCoeff() + 2;
    if (seen.pixel.minCoeff() < reach || seen.pixel.x() > light.cols - 1 - reach ||
        seen.pixel.y() > light.rows - 1 - reach)
      return std::nullopt;
    // A slanted pixel is longer on the surface: the mean over both directions.
    const double own_mm = kOwnBlur_px * seen.pixel_mm / std::sqrt(seen.cosine);
    const double inner2 = band_mm_ * band_mm_ - own_mm * own_mm;
    const double outer2 = kSurround * kSurround * band_mm_ * band_mm_ - own_mm * own_mm;
    const std::vector<double> narrow = gaussian(inner2), wide = gaussian(outer2);
    double centre = 0, centre_weight = 0, surround = 0, surround_weight = 0;
    for (int i = -half_; i <= half_; ++i)
      for (int j = -half_; j <= half_; ++j) {
        const Vector2d at = seen.pixel + i * du + j * dv;
        if (!view.mask.empty() && view.mask.at<std::uint8_t>(int(at.y()), int(at.x())) == 0)
          return std::nullopt;
        const double value = bilinear(light, at.x(), at.y());
        const auto a = std::size_t(std::abs(i)), b = std::size_t(std::abs(j));
        surround += wide[a] * wide[b] * value, surround_weight += wide[a] * wide[b];
        centre += narrow[a] * narrow[b] * value, centre_weight += narrow[a] * narrow[b];
      }
    surround /= surround_weight;
    centre /= centre_weight;
    if (surround < 1e-4) return std::nullopt;
    return (centre - surround) / surround;
  }

  bool fineEnough(const Seen& seen) const {
    return kOwnBlur_px * seen.pixel_mm / std::sqrt(seen.cosine) <= kMostOwnBlur * band_mm_;
  }

 private:
  /// Weights at 0, 1, 2, ... steps from the middle.
  std::vector<double> gaussian(double variance_mm2) const {
    std::vector<double> weights;
    for (int i = 0; i <= half_; ++i)
      weights.push_back(std::exp(-step_mm_ * step_mm_ * i * i / (2 * variance_mm2)));
    return weights;
  }

  double band_mm_, step_mm_;
  int half_;
};

/// Notes for each point which photos see it best.
void choosePhotos(const TriangleMesh& mesh, const std::vector<View>& views, const Patch& patch,
                  const TextureOptions& options, std::vector<Point>& points) {
  for (std::size_t v = 0; v < views.size(); ++v) {
    const Sight sight(views[v], mesh);
    tbb::parallel_for(std::size_t(0), points.size(), [&](std::size_t i) {
      const auto seen = sight.of(points[i].at, points[i].normal, options.least_cosine);
      if (seen && patch.fineEnough(*seen))
        points[i].photos.emplace_back(seen->cosine / seen->pixel_mm, v);
    });
  }
  for (Point& point : points) {
    std::sort(point.photos.rbegin(), point.photos.rend());
    if (point.photos.size() > std::size_t(options.photos_a_point))
      point.photos.resize(std::size_t(options.photos_a_point));
  }
}

void look(const View& view, std::size_t number, const Patch& patch, std::vector<Point>& points) {
  const cv::Mat light = luminance(view.bgr);
  tbb::parallel_for(std::size_t(0), points.size(), [&](std::size_t i) {
    Point& point = points[i];
    const bool asked = std::any_of(point.photos.begin(), point.photos.end(),
                                   [&](const auto& photo) { return photo.second == number; });
    const auto pixel = asked ? view.camera.project(point.at) : std::nullopt;
    if (!pixel) return;
    const Vector3d line = view.camera.centre_H_mm() - point.at;
    const double depth = (view.camera.T_camera_hold * point.at).z();
    const Seen seen{*pixel, line.normalized().dot(point.normal), depth / view.camera.model.fx_px};
    if (const auto d = patch.detail(view, light, point, seen)) {
      point.sum += *d;
      point.squares += *d * *d;
      ++point.count;
    }
  });
}

void addCell(const std::vector<const Point*>& points, std::vector<TextureCell>& cells) {
  if (points.size() < kLeastPoints) return;
  const double n = double(points.size());
  Vector3d middle = Vector3d::Zero();
  double sum = 0, squares = 0;
  for (const Point* point : points) {
    middle += point->at / n;
    sum += point->shared();
    squares += point->shared() * point->shared();
  }
  const double mean = sum / n, contrast = std::sqrt(std::max(mean, 0.0));
  // Of the mean, then of its root; points a band apart are nearly independent.
  const double sigma_mean = std::sqrt(std::max(0.0, squares / n - mean * mean) / n);
  cells.push_back(
      {middle, contrast, sigma_mean / (2 * std::max(contrast, std::sqrt(sigma_mean)) + 1e-9)});
}

}  // namespace

TextureCells textureDetail(const TriangleMesh& mesh, const std::vector<View>& views,
                           const Progress& progress, const TextureOptions& options) {
  TextureCells texture{options.cell_mm, {}};
  const Patch patch(options.band_mm);
  std::vector<Point> points = pointsOn(mesh, options.spacing_mm);
  choosePhotos(mesh, views, patch, options, points);
  for (std::size_t v = 0; v < views.size(); ++v) {
    if (progress && !progress("Reading the texture", double(v) / double(views.size())))
      throw Interrupted();
    look(views[v], v, patch, points);
  }
  std::map<Cell, std::vector<const Point*>> cells;
  for (const Point& point : points)
    if (point.count >= kLeastPhotos) cells[cellOf(point.at, options.cell_mm)].push_back(&point);
  for (const auto& [cell, inside] : cells) addCell(inside, texture.cells);
  return texture;
}

}  // namespace holdshelf
