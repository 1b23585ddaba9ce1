// SPDX-License-Identifier: Apache-2.0
// This work is based on:
// Bleyer M, Rhemann C, Rother C. PatchMatch Stereo - Stereo Matching with Slanted Support Windows.
// BMVC 2011. Galliani S, Lasinger K, Schindler K. Massively Parallel Multiview Stereopsis by
// Surface Normal Diffusion. ICCV 2015.
#include "capture/patch_match.h"

#include <tbb/parallel_for.h>

#include <atomic>
#include <cmath>
#include <mutex>
#include <opencv2/imgproc.hpp>
#include <random>

#include "capture/patch_kernel.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

using Eigen::Matrix3d;
using Eigen::Matrix3f;
using Eigen::Vector3d;
using Eigen::Vector3f;

/// What a level needs of one view, made once and read by all its neighbours.
struct PhotoRaster {
  PosedCamera camera;
  cv::Mat_<float> grey;
  cv::Mat_<std::uint8_t> mask;
  cv::Mat_<std::uint8_t> inner;  // Of the mask, pixels that hold nothing of the background.
};

Matrix3d intrinsicMatrix(const CameraModel& m) {
  Matrix3d K;
  K << m.fx_px, 0, m.cx_px, 0, m.fy_px, m.cy_px, 0, 0, 1;
  return K;
}

/// Inverse depths a pixel may have: the part of its ray inside the hull.
struct Interval {
  float near = 0, far = 0;  // 1/z: near > far; both 0 off the hull.
};

/// The sweep over one view at one level.
class Matcher {
 public:
  Matcher(const std::vector<PhotoRaster>& rasters, int view, const std::vector<int>& sources,
          const RayScene& hull, const PatchMatchOptions& options)
      : options_(options),
        raster_(rasters[view]),
        rng_(options.seed * 7919u + static_cast<unsigned>(view)) {
    width_ = raster_.grey.cols;
    height_ = raster_.grey.rows;
    const Matrix3d Kinv = intrinsicMatrix(raster_.camera.model).inverse();
    pixel_to_ray_ = Kinv.cast<float>();
    for (int s : sources) {
      const Eigen::Isometry3d T_source_view =
          rasters[s].camera.T_camera_hold * raster_.camera.T_camera_hold.inverse();
      const Matrix3d K = intrinsicMatrix(rasters[s].camera.model);
      sources_.push_back({&rasters[s].grey, (K * T_source_view.linear() * Kinv).cast<float>(),
                          (K * T_source_view.translation()).cast<float>()});
    }
    boundByHull(hull);
  }

  /// Starts every pixel from the hull's own surface or from chance.
  void startFromChance() {
    std::uniform_real_distribution<float> uniform(0, 1);
    forEachPixel([&](int x, int y) {
      const Interval range = interval_(y, x);
      const float inverse_depth =
          (x + y) % 4 == 0 ? range.near : range.far + (range.near - range.far) * uniform(rng_);
      setPlane(x, y, planeThrough(x, y, inverse_depth, randomNormal(x, y)));
    });
  }

  /// Starts from the planes of a coarser level, which are valid at any raster.
  void startFrom(const Matcher& coarse) {
    forEachPixel([&](int x, int y) {
      const int cx = std::min(x * coarse.width_ / width_, coarse.width_ - 1);
      const int cy = std::min(y * coarse.height_ / height_, coarse.height_ - 1);
      Vector3f plane = coarse.plane_[coarse.index(cx, cy)];
      if (!allowed(x, y, plane)) plane = planeThrough(x, y, interval_(y, x).near, ray(x, y) * -1.f);
      setPlane(x, y, plane);
    });
  }

  /// One red-black sweep; `amount` scales the random changes.
  void sweep(float amount, bool far_neighbours) {
    for (int colour = 0; colour < 2; ++colour)
      forEachPixel([&](int x, int y) {
        if (((x + y) & 1) != colour) return;
        prepare(x, y);
        Best best{plane_[index(x, y)], cost_[index(x, y)]};
        spread(x, y, far_neighbours, best);
        perturb(x, y, amount, best);
        plane_[index(x, y)] = best.plane;
        cost_[index(x, y)] = best.cost;
      });
  }

  DepthMap result(int view) const {
    DepthMap out;
    out.view = view;
    out.camera = raster_.camera;
    out.depth_mm = cv::Mat_<float>::zeros(height_, width_);
    out.normal = cv::Mat_<cv::Vec3f>::zeros(height_, width_);
    out.cost = cv::Mat_<float>(height_, width_, 2.f);
    for (int y = 0; y < height_; ++y)
      for (int x = 0; x < width_; ++x) {
        if (interval_(y, x).near <= 0) continue;
        const Vector3f& w = plane_[index(x, y)];
        const Vector3f n = -w.normalized();
        out.depth_mm(y, x) = 1 / w.dot(ray(x, y));
        out.normal(y, x) = {n.x(), n.y(), n.z()};
        out.cost(y, x) = cost_[index(x, y)];
      }
    return out;
  }

 private:
  struct Source {
    const cv::Mat_<float>* grey;
    Matrix3f KRKinv;
    Vector3f Kt;
  };
  struct Best {
    Vector3f plane;
    float cost;
  };

  size_t index(int x, int y) const { return static_cast<size_t>(y) * width_ + x; }
  Vector3f ray(int x, int y) const {
    return pixel_to_ray_ * Vector3f(static_cast<float>(x), static_cast<float>(y), 1);
  }

  template <class Visit>
  void forEachPixel(Visit visit) {
    for (int y = 0; y < height_; ++y)
      for (int x = 0; x < width_; ++x)
        if (interval_(y, x).near > 0) visit(x, y);
  }

  /// Casts each masked pixel's ray through the hull from both ends.
  void boundByHull(const RayScene& hull) {
    interval_.create(height_, width_);
    plane_.assign(static_cast<size_t>(width_) * height_, Vector3f::Zero());
    cost_.assign(plane_.size(), 2.f);
    const Eigen::Isometry3d T_hold_camera = raster_.camera.T_camera_hold.inverse();
    const Vector3d centre = T_hold_camera.translation();
    constexpr double kFarMm = 5000;
    for (int y = 0; y < height_; ++y)
      for (int x = 0; x < width_; ++x) {
        interval_(y, x) = {};
        if (!raster_.mask(y, x)) continue;
        const Vector3d direction = T_hold_camera.linear() * ray(x, y).cast<double>();
        const auto front = hull.firstHit(centre, direction);
        if (!front) continue;
        const Vector3d beyond = centre + kFarMm * direction;
        const auto back = hull.firstHit(beyond, -direction);
        const double far = back ? kFarMm - back->distance : front->distance;
        const double near = std::max(front->distance - options_.outside_mm, 1.0);
        interval_(y, x) = {static_cast<float>(1 / near),
                           static_cast<float>(1 / (std::max(far, near) + options_.outside_mm))};
      }
  }

  /// The plane through the pixel's point at that inverse depth, with normal n (camera frame).
  Vector3f planeThrough(int x, int y, float inverse_depth, const Vector3f& n) const {
    return n * (inverse_depth / n.dot(ray(x, y)));
  }

  /// A normal that turns towards the camera by at least 15 degrees.
  Vector3f randomNormal(int x, int y) {
    std::normal_distribution<float> gauss(0, 1);
    Vector3f view = -ray(x, y).normalized();
    for (int tries = 0; tries < 8; ++tries) {
      Vector3f n = (Vector3f(gauss(rng_), gauss(rng_), gauss(rng_)) * 0.5f + view).normalized();
      if (n.dot(view) > 0.26f) return n;
    }
    return view;
  }

  /// Inside the pixel's interval and not seen at a grazing angle.
  bool allowed(int x, int y, const Vector3f& plane) const {
    const Vector3f r = ray(x, y);
    const float inverse_depth = plane.dot(r);
    const Interval range = interval_(y, x);
    if (!(inverse_depth <= range.near && inverse_depth >= range.far)) return false;
    const float cosine = inverse_depth / (plane.norm() * r.norm());
    return cosine > 0.15f;
  }

  void setPlane(int x, int y, const Vector3f& plane) {
    prepare(x, y);
    plane_[index(x, y)] = plane;
    cost_[index(x, y)] = cost(x, y, plane);
  }

  /// The window's own grey values, made ready for comparing with any source.
  void prepare(int x, int y) { window_ = patchWindow(raster_.grey, raster_.inner, x, y); }

  float cost(int x, int y, const Vector3f& plane) const {
    constexpr int kMost = 16;
    float costs[kMost];
    const int n = std::min<int>(kMost, static_cast<int>(sources_.size()));
    for (int s = 0; s < n; ++s) {
      const Source& source = sources_[s];
      // H = K_s R K_r^-1 + K_s t (K_r^-T w)^T
      const Eigen::RowVector3f wk = plane.transpose() * pixel_to_ray_;
      const Matrix3f H = source.KRKinv + source.Kt * wk;
      const Vector3f h = H * Vector3f(static_cast<float>(x), static_cast<float>(y), 1);
      const float u = h.x() / h.z(), v = h.y() / h.z(), iz = 1 / h.z();
      const PatchWarp warp{u,
                           v,
                           (H(0, 0) - u * H(2, 0)) * iz,
                           (H(0, 1) - u * H(2, 1)) * iz,
                           (H(1, 0) - v * H(2, 0)) * iz,
                           (H(1, 1) - v * H(2, 1)) * iz};
      costs[s] = h.z() > 0 ? 1 - patchCorrelation(window_, *source.grey, warp) : 2.f;
    }
    const int best = std::min(options_.best_sources, n);
    std::partial_sort(costs, costs + best, costs + n);
    float sum = 0;
    for (int s = 0; s < best; ++s) sum += costs[s];
    return best > 0 ? sum / static_cast<float>(best) : 2.f;
  }

  void attempt(int x, int y, const Vector3f& plane, Best& best) const {
    if (!allowed(x, y, plane)) return;
    const float c = cost(x, y, plane);
    if (c < best.cost) best = {plane, c};
  }

  void spread(int x, int y, bool far_neighbours, Best& best) const {
    static constexpr int kNear[4][2] = {{1, 0}, {-1, 0}, {0, 1}, {0, -1}};
    for (const auto& d : kNear)
      for (int reach : {1, 5}) {
        if (reach > 1 && !far_neighbours) continue;
        const int nx = x + reach * d[0], ny = y + reach * d[1];
        if (nx < 0 || ny < 0 || nx >= width_ || ny >= height_) continue;
        if (interval_(ny, nx).near > 0) attempt(x, y, plane_[index(nx, ny)], best);
      }
  }

  void perturb(int x, int y, float amount, Best& best) {
    std::uniform_real_distribution<float> uniform(-1, 1);
    const Interval range = interval_(y, x);
    const Vector3f r = ray(x, y);
    const float inverse_depth = best.plane.dot(r);
    const float reach = amount * (range.near - range.far);
    const float moved = std::clamp(inverse_depth + reach * uniform(rng_), range.far, range.near);
    const Vector3f n = -best.plane.normalized();
    const Vector3f turned =
        (n + amount * Vector3f(uniform(rng_), uniform(rng_), uniform(rng_))).normalized();
    attempt(x, y, planeThrough(x, y, moved, n), best);
    attempt(x, y, planeThrough(x, y, best.plane.dot(r), turned), best);
    const float close =
        std::clamp(inverse_depth * (1 + 0.002f * uniform(rng_)), range.far, range.near);
    attempt(x, y, planeThrough(x, y, close, turned), best);
  }

  const PatchMatchOptions& options_;
  const PhotoRaster& raster_;
  std::vector<Source> sources_;
  std::mt19937 rng_;
  int width_ = 0, height_ = 0;
  Matrix3f pixel_to_ray_;
  struct IntervalMap {
    int width = 0;
    std::vector<Interval> data;
    void create(int h, int w) {
      width = w;
      data.assign(static_cast<size_t>(w) * h, {});
    }
    Interval& operator()(int y, int x) { return data[static_cast<size_t>(y) * width + x]; }
    const Interval& operator()(int y, int x) const {
      return data[static_cast<size_t>(y) * width + x];
    }
  } interval_;
  std::vector<Vector3f> plane_;
  std::vector<float> cost_;
  PatchWindow window_;
};

/// A mask without its outermost pixels. They are mixed with what lies behind, and beside a smooth
/// hold the mat's contrast fills the window: matched on it, the hold's foot lies as deep as the
/// mat.
cv::Mat_<std::uint8_t> withoutEdge(const cv::Mat_<std::uint8_t>& mask) {
  cv::Mat_<std::uint8_t> inner;
  cv::erode(mask, inner, cv::getStructuringElement(cv::MORPH_CROSS, {3, 3}));
  return inner;
}

std::vector<PhotoRaster> rastersAt(const std::vector<View>& views, double scale) {
  std::vector<PhotoRaster> rasters(views.size());
  tbb::parallel_for(size_t{0}, views.size(), [&](size_t i) {
    rasters[i].camera = scaledCamera(views[i].camera, scale);
    rasters[i].grey = scaledGrey(views[i], scale);
    rasters[i].mask = scaledMask(views[i], scale);
    rasters[i].inner = withoutEdge(rasters[i].mask);
  });
  return rasters;
}

/// Mean of the points where the hull is met by the middle of each view's mask.
Vector3d hullCentre(const std::vector<View>& views, const RayScene& hull) {
  Vector3d sum = Vector3d::Zero();
  int hits = 0;
  for (const View& view : views) {
    const cv::Moments m = cv::moments(view.mask, true);
    if (m.m00 <= 0) continue;
    const Vector3d r = view.camera.model.ray({m.m10 / m.m00, m.m01 / m.m00});
    const Eigen::Isometry3d T = view.camera.T_camera_hold.inverse();
    const Vector3d direction = T.linear() * r;
    if (const auto hit = hull.firstHit(T.translation(), direction)) {
      sum += T.translation() + hit->distance * direction;
      ++hits;
    }
  }
  return hits ? Vector3d(sum / hits) : Vector3d(Vector3d::Zero());
}

}  // namespace

std::vector<std::vector<int>> chooseSources(const std::vector<View>& views,
                                            const Vector3d& centre_H_mm, int sources) {
  std::vector<std::vector<int>> chosen(views.size());
  std::vector<Vector3d> towards;
  for (const View& view : views)
    towards.push_back((view.camera.centre_H_mm() - centre_H_mm).normalized());
  for (size_t i = 0; i < views.size(); ++i) {
    std::vector<std::pair<double, int>> scored;
    for (size_t j = 0; j < views.size(); ++j) {
      if (j == i) continue;
      const double angle_deg =
          std::acos(std::clamp(towards[i].dot(towards[j]), -1.0, 1.0)) * 180 / M_PI;
      if (angle_deg < 5 || angle_deg > 45) continue;
      scored.emplace_back(std::abs(std::log(angle_deg / 18)), static_cast<int>(j));
    }
    std::sort(scored.begin(), scored.end());
    for (size_t k = 0; k < scored.size() && k < static_cast<size_t>(sources); ++k)
      chosen[i].push_back(scored[k].second);
  }
  return chosen;
}

std::vector<DepthMap> matchDepth(const std::vector<View>& views, const RayScene& hull,
                                 const PatchMatchOptions& options, const Progress& progress) {
  const auto sources = chooseSources(views, hullCentre(views, hull), options.sources);
  std::vector<std::vector<PhotoRaster>> pyramid(options.levels);  // Finest first.
  for (int level = 0; level < options.levels; ++level)
    pyramid[level] = rastersAt(views, options.finest_scale / (1 << level));

  std::vector<DepthMap> maps(views.size());
  std::atomic<int> done{0};
  std::atomic<bool> stop{false};
  std::mutex speaking;
  tbb::parallel_for(size_t{0}, views.size(), [&](size_t i) {
    if (stop) return;
    const int view = static_cast<int>(i);
    std::unique_ptr<Matcher> matcher;
    for (int level = options.levels - 1; level >= 0; --level) {
      auto finer = std::make_unique<Matcher>(pyramid[level], view, sources[i], hull, options);
      const bool coarsest = !matcher;
      if (coarsest)
        finer->startFromChance();
      else
        finer->startFrom(*matcher);
      const int sweeps = coarsest ? options.coarse_iterations : options.fine_iterations;
      float amount = coarsest ? 0.5f : 0.06f;
      for (int k = 0; k < sweeps; ++k, amount *= 0.4f) finer->sweep(amount, coarsest);
      matcher = std::move(finer);
    }
    maps[i] = matcher->result(view);
    const double share = ++done / static_cast<double>(views.size());
    const std::lock_guard lock(speaking);
    if (!progress("Measuring depth", share)) stop = true;
  });
  if (stop) throw Interrupted();
  return maps;
}

}  // namespace holdshelf
