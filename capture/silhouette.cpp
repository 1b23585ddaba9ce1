// SPDX-License-Identifier: Apache-2.0
#include "capture/silhouette.h"

#include <tbb/parallel_for.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "capture/colour_model.h"
#include "capture/graph_cut.h"
#include "capture/hull.h"
#include "capture/mat_background.h"
#include "capture/photo_raster.h"
#include "mesh/bad_input.h"
#include "mesh/isosurface.h"

namespace holdshelf {
namespace {

constexpr int kWorkWidth_px = 720;  // Of the larger side, while searching.
constexpr float kMostGain = 6;      // Log likelihood ratios are cut off here.
constexpr int kRounds = 3;          // Of cutting and carving.
constexpr double kUsableOverlap = 0.8;
// What a cut took off the hull of all: chunks deeper than this at the working width are looked into
constexpr double kChunk_px = 3;
// and given back where the colours say no more than this against the hold.
constexpr float kWeakGain = -2.5f;

/// A photo, or a part of it, at a working resolution.
struct Layer {
  double scale = 1;    // Of the photo's size.
  cv::Rect roi;        // In the scaled photo.
  PosedCamera camera;  // Of the scaled photo, all of it.
  cv::Mat features;    // CV_32FC3, colourFeature relative to white.
  cv::Mat ink;         // CV_8UC1 of MatInk.
  cv::Mat patterned;   // CV_8UC1, 255 where the mat's pattern is recognised around.
  cv::Mat bare;        // CV_8UC1, 255 where surely the bare mat or background is seen.
  cv::Mat limit;       // CV_8UC1, 255 where the hold may be.
  cv::Mat core;        // CV_8UC1, 255 where the hold very likely is.
  cv::Mat mask;        // CV_8UC1, the outline found.

  Eigen::Vector3f feature(int x, int y) const {
    const cv::Vec3f& f = features.at<cv::Vec3f>(y, x);
    return {f[0], f[1], f[2]};
  }
  MatInk inkAt(int x, int y) const { return MatInk(ink.at<std::uint8_t>(y, x)); }
};

PosedCamera scaledCamera(const PosedCamera& camera, double scale, cv::Size size) {
  PosedCamera out = camera;
  CameraModel& m = out.model;
  m.width_px = size.width;
  m.height_px = size.height;
  m.fx_px *= scale;
  m.fy_px *= scale;
  m.cx_px = (m.cx_px + 0.5) * scale - 0.5;
  m.cy_px = (m.cy_px + 0.5) * scale - 0.5;
  return out;
}

cv::Mat disc(int radius) {
  return cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * radius + 1, 2 * radius + 1});
}

cv::Mat grown(const cv::Mat& mask, int radius) {
  cv::Mat out;
  cv::dilate(mask, out, disc(radius));
  return out;
}

cv::Mat shrunk(const cv::Mat& mask, int radius) {
  cv::Mat out;
  cv::erode(mask, out, disc(radius), {-1, -1}, 1, cv::BORDER_CONSTANT, cv::Scalar(255));
  return out;
}

/// Silhouette of a mesh in a scaled photo.
cv::Mat drawMask(const TriangleMesh& mesh, const PosedCamera& camera) {
  return drawnMask(rasterise(mesh, rasterCamera(camera)));
}

double overlap(const cv::Mat& a, const cv::Mat& b) {
  const int both = cv::countNonZero(a & b), any = cv::countNonZero(a | b);
  return any > 0 ? double(both) / any : 0;
}

/// Densities of the mat's own colours, features relative to white.
struct MatColours {
  float black_log = -2;  // Log luminance of black ink.
  float sigma = 0.03f;   // Of bare paper, log luminance.

  /// Log density of a colour at a point with that ink, lit or in shadow.
  float logDensity(MatInk ink, const Eigen::Vector3f& f) const {
    const float c2 = f[1] * f[1] + f[2] * f[2];
    float p = std::exp(ColourModel::logFloor());
    switch (ink) {
      case MatInk::White:
        p += 0.7f * gauss1(f[0] - kPaper, std::max(sigma, 0.03f)) * gauss2(c2, 0.035f);
        p += 0.20f * ramp(f[0], -1.6f, kPaper) * gauss2(c2, 0.06f);
        p += 0.06f * ramp(f[0], -1.6f, kPaper) * gauss2(c2, 0.18f);  // The hold's light on it.
        break;
      case MatInk::Black:
        p += 0.60f * gauss1(f[0] - black_log, 0.35f) * gauss2(c2, 0.12f);
        p += 0.36f * ramp(f[0], kDarkest, black_log + 0.3f) * gauss2(c2, 0.25f);
        break;
      default:
        p += 0.76f * ramp(f[0], black_log - 0.2f, kPaper + 0.1f) * gauss2(c2, 0.10f);
        p += 0.20f * ramp(f[0], kDarkest, kPaper) * gauss2(c2, 0.22f);
    }
    return std::log(p);
  }

  /// True when the colour is what that ink shows in full light.
  bool bare(MatInk ink, const Eigen::Vector3f& f) const {
    const float c = std::hypot(f[1], f[2]);
    if (ink == MatInk::White)
      return std::abs(f[0] - kPaper) < std::max(0.07f, 3.5f * sigma) && c < 0.10f;
    return f[0] < black_log + 0.5f && c < 0.35f;
  }

  /// True for paper in light or in a moderate shadow.
  static bool shadedPaper(const Eigen::Vector3f& f) {
    return f[0] > -1.2f && f[0] < kPaper + 0.25f && std::hypot(f[1], f[2]) < 0.2f;
  }

  /// True when the colour could be that ink's in some light: not to be learnt as the hold's.
  bool likely(MatInk ink, const Eigen::Vector3f& f) const {
    if (ink == MatInk::None) return false;
    if (ink == MatInk::Edge) return f[0] < kPaper + 0.1f && std::hypot(f[1], f[2]) < 0.12f;
    return bare(ink, f);
  }

  static constexpr float kPaper = 0.0198f;    // log(1.02), see colourFeature.
  static constexpr float kDarkest = -3.912f;  // log(0.02).

 private:
  static float gauss1(float d, float s) {
    return std::exp(-0.5f * d * d / (s * s)) / (2.5066f * s);
  }
  static float gauss2(float d2, float s) {
    return std::exp(-0.5f * d2 / (s * s)) / (6.2832f * s * s);
  }
  static float ramp(float v, float low, float high) {
    return v > low && v < high + 0.1f ? 1 / (high - low) : 0.f;
  }
};

/// All photos and what is learnt of them.
class Search {
 public:
  Search(std::vector<View>& views, const SilhouetteInput& input, const Progress& progress)
      : views_(views), input_(input), progress_(progress) {
    if (input.mat) mat_.emplace(*input.mat, input.mat_points_H_mm);
  }

  std::vector<SilhouetteVerdict> run() {
    step(0);
    readLight();
    layers_.resize(views_.size());
    eachView([&](std::size_t i) {
      const double larger = std::max(views_[i].bgr.cols, views_[i].bgr.rows);
      layers_[i] = makeLayer(i, std::min(1.0, kWorkWidth_px / larger), std::nullopt);
    });
    step(0.2);
    if (!mat_) learnPlainBackground();
    eachView([&](std::size_t i) { findBare(layers_[i]); });
    carveBare();
    if (mat_ && !holdLooksLikeInk()) {
      for (Layer& layer : layers_) layer.patterned.setTo(255);
      carveBare();
    }
    step(0.35);
    for (int round = 0; round < kRounds; ++round) {
      learnColours();
      eachView([&](std::size_t i) { cut(i); });
      limitByHull(round + 1 == kRounds);
      step(0.35 + 0.4 * (round + 1) / kRounds);
    }
    std::vector<SilhouetteVerdict> verdicts = judge();
    eachView([&](std::size_t i) {
      if (verdicts[i].used())
        refine(i);
      else
        views_[i].mask.release();
    });
    step(1);
    return verdicts;
  }

 private:
  template <class Work>
  void eachView(const Work& work) {
    tbb::parallel_for(std::size_t(0), views_.size(), work);
  }

  void step(double done) {
    if (progress_ && !progress_("finding the hold in the photos", done)) throw Interrupted();
  }

  // --- Light -------------------------------------------------------------------------------

  void readLight() {
    light_.resize(views_.size());
    if (mat_) {
      eachView([&](std::size_t i) { light_[i] = fitPaperLight(views_[i], *mat_); });
      if (std::none_of(light_.begin(), light_.end(), [](const auto& l) { return bool(l); }))
        throw BadInput(
            "The mat's white paper is not seen in any photo; light the mat evenly and keep it in "
            "view.");
      return;
    }
    // No paper: the brightest colours stand for white.
    std::vector<float> bright;
    for (const View& view : views_)
      for (int y = 3; y < view.bgr.rows; y += 7)
        for (int x = 3; x < view.bgr.cols; x += 7)
          bright.push_back(linearFromSrgb(view.bgr.at<cv::Vec3b>(y, x)[1]));
    auto top = bright.begin() + long(0.98 * double(bright.size()));
    std::nth_element(bright.begin(), top, bright.end());
    white_ = std::max(*top, 0.02f);
  }

  /// @param needed  Of the region's size: pixels to compute; the others stay zero.
  Layer makeLayer(std::size_t i, double scale, const std::optional<cv::Rect>& roi,
                  const cv::Mat& needed = {}) const {
    const View& view = views_[i];
    const cv::Size size(int(std::lround(view.bgr.cols * scale)),
                        int(std::lround(view.bgr.rows * scale)));
    Layer layer;
    layer.scale = double(size.width) / view.bgr.cols;
    layer.roi = roi ? *roi & cv::Rect({0, 0}, size) : cv::Rect({0, 0}, size);
    layer.camera = scaledCamera(view.camera, layer.scale, size);
    const cv::Rect part = scale < 1 ? cv::Rect({0, 0}, view.bgr.size()) : layer.roi;
    cv::Mat linear(part.size(), CV_32FC3);
    for (int y = 0; y < part.height; ++y)
      for (int x = 0; x < part.width; ++x) {
        const cv::Vec3b& c = view.bgr.at<cv::Vec3b>(y + part.y, x + part.x);
        linear.at<cv::Vec3f>(y, x) = {linearFromSrgb(c[2]), linearFromSrgb(c[1]),
                                      linearFromSrgb(c[0])};
      }
    // Light is averaged before it becomes a feature.
    if (scale < 1) {
      cv::resize(linear, linear, size, 0, 0, cv::INTER_AREA);
      linear = linear(layer.roi);
    }
    fillFeatures(i, linear, needed, layer);
    return layer;
  }

  void fillFeatures(std::size_t i, const cv::Mat& linear, const cv::Mat& needed,
                    Layer& layer) const {
    layer.features = cv::Mat(linear.size(), CV_32FC3, cv::Scalar::all(0));
    layer.ink = cv::Mat(linear.size(), CV_8UC1, cv::Scalar(0));
    const Eigen::Matrix3d R = layer.camera.T_camera_hold.rotation().transpose();
    const Eigen::Vector3d centre = layer.camera.centre_H_mm();
    for (int y = 0; y < linear.rows; ++y)
      for (int x = 0; x < linear.cols; ++x) {
        if (!needed.empty() && !needed.at<std::uint8_t>(y, x)) continue;
        Eigen::Vector3f white = Eigen::Vector3f::Constant(white_);
        MatInk ink = MatInk::None;
        if (mat_) {
          const auto p = mat_->meet(centre, R * layer.camera.model.ray(Eigen::Vector2d(
                                                    x + layer.roi.x, y + layer.roi.y)));
          if (light_[i]) white = light_[i]->white(p ? *p : mat_->middle());
          if (p && light_[i]) ink = mat_->ink(*p);
        }
        const cv::Vec3f& c = linear.at<cv::Vec3f>(y, x);
        const Eigen::Vector3f f =
            colourFeature(Eigen::Vector3f(c[0], c[1], c[2]).cwiseQuotient(white));
        layer.features.at<cv::Vec3f>(y, x) = {f[0], f[1], f[2]};
        layer.ink.at<std::uint8_t>(y, x) = std::uint8_t(ink);
      }
  }

  MatColours matColours(std::size_t i) const {
    MatColours colours;
    if (light_.size() > i && light_[i]) {
      colours.sigma = float(light_[i]->log_sigma);
      colours.black_log = std::log(float(light_[i]->black) + 0.02f);
    }
    return colours;
  }

  // --- Where there is nothing --------------------------------------------------------------

  /// Without a mat the frame's border shows the background.
  void learnPlainBackground() {
    std::vector<Eigen::Vector3f> samples;
    for (const Layer& layer : layers_) {
      const int w = layer.features.cols, h = layer.features.rows, border = std::max(4, w / 40);
      for (int y = 0; y < h; y += 2)
        for (int x = 0; x < w; x += 2)
          if (x < border || y < border || x >= w - border || y >= h - border)
            samples.push_back(layer.feature(x, y));
    }
    // The hold may run into the frame here and there: the commonest colours are the background,
    // and a stand or a seam that few photos show at their border is part of it.
    ColourModel all = ColourModel::learn(samples, 6);
    std::vector<std::pair<float, std::size_t>> order;
    for (std::size_t k = 0; k < samples.size(); ++k)
      order.push_back({all.logDensity(samples[k]), k});
    std::sort(order.begin(), order.end(), std::greater<>());
    std::vector<Eigen::Vector3f> common;
    for (std::size_t k = 0; k < order.size() * 97 / 100; ++k)
      common.push_back(samples[order[k].second]);
    plain_ = ColourModel::learn(common, 4);
    std::vector<float> densities;
    for (const Eigen::Vector3f& f : common) densities.push_back(plain_.logDensity(f));
    const auto least = densities.begin() + long(densities.size() / 100);
    std::nth_element(densities.begin(), least, densities.end());
    plain_least_ = *least;
  }

  /// Marks where the photo shows what the mat (or the plain background) would.
  void findBare(Layer& layer) {
    const MatColours colours = matColours(std::size_t(&layer - layers_.data()));
    cv::Mat fits(layer.ink.size(), CV_32FC1, cv::Scalar(0)),
        counts(layer.ink.size(), CV_32FC1, cv::Scalar(0));
    for (int y = 0; y < layer.ink.rows; ++y)
      for (int x = 0; x < layer.ink.cols; ++x) {
        const MatInk ink = layer.inkAt(x, y);
        const Eigen::Vector3f f = layer.feature(x, y);
        if (mat_ && ink != MatInk::White && ink != MatInk::Black) continue;
        counts.at<float>(y, x) = 1;
        fits.at<float>(y, x) = mat_ ? colours.bare(ink, f) : plain_.logDensity(f) > plain_least_;
      }
    cv::Mat fits_near, counts_near;
    cv::boxFilter(fits, fits_near, CV_32F, {5, 5}, {-1, -1}, false);
    cv::boxFilter(counts, counts_near, CV_32F, {5, 5}, {-1, -1}, false);
    layer.bare =
        (fits_near >= 0.8f * counts_near) & (counts_near >= 6) & ((fits > 0) | (counts == 0));
    if (!mat_) return;
    layer.bare.setTo(0, layer.ink == int(MatInk::None));
    // Paper in shadow is paper still.
    for (int y = 0; y < fits.rows; ++y)
      for (int x = 0; x < fits.cols; ++x)
        if (layer.inkAt(x, y) == MatInk::White)
          fits.at<float>(y, x) = colours.shadedPaper(layer.feature(x, y));
    findPattern(fits, layer);
  }

  /// A black hold fits black ink and a white one paper: the mat is recognised only where its other
  /// ink fits as well in the neighbourhood. Paper far from any ink needs no such witness.
  static void findPattern(const cv::Mat& fits, Layer& layer) {
    constexpr int kNear = 31;
    const auto near = [&](const cv::Mat& m) {
      cv::Mat out;
      cv::boxFilter(m, out, CV_32F, {kNear, kNear}, {-1, -1}, false);
      return out;
    };
    cv::Mat white, black;
    cv::Mat(layer.ink == int(MatInk::White)).convertTo(white, CV_32F, 1 / 255.0);
    cv::Mat(layer.ink == int(MatInk::Black)).convertTo(black, CV_32F, 1 / 255.0);
    const cv::Mat whites = near(white), blacks = near(black);
    const cv::Mat white_fits = near(white.mul(fits)), black_fits = near(black.mul(fits));
    const cv::Mat by_white = (white_fits >= 0.35f * whites) & (whites >= 8);
    const cv::Mat by_black = (black_fits >= 0.35f * blacks) | (blacks < 8);
    layer.patterned = by_white & by_black;
    by_black.copyTo(layer.patterned, layer.ink == int(MatInk::White));
    layer.patterned.setTo(0, layer.ink == int(MatInk::None));
  }

  /// True for a hold as black as the mat's ink: then ink proves nothing without its pattern. Looked
  /// up where the mat behind would be white.
  bool holdLooksLikeInk() const {
    long black = 0, all = 0;
    for (std::size_t i = 0; i < layers_.size(); ++i) {
      const Layer& layer = layers_[i];
      const MatColours colours = matColours(i);
      for (int y = 0; y < layer.ink.rows; ++y)
        for (int x = 0; x < layer.ink.cols; ++x) {
          if (!layer.core.at<std::uint8_t>(y, x) || layer.inkAt(x, y) != MatInk::White) continue;
          if (MatColours::shadedPaper(layer.feature(x, y))) continue;
          ++all;
          black += colours.bare(MatInk::Black, layer.feature(x, y));
        }
    }
    return black > 0.5 * double(all);
  }

  Eigen::AlignedBox3d stage() const {
    if (input_.box_mm) return *input_.box_mm;
    Eigen::AlignedBox3d box;
    if (mat_) {
      const double floor = std::max(input_.floor_z_mm, -5.0);
      box.extend(Eigen::Vector3d(mat_->low().x(), mat_->low().y(), floor));
      box.extend(Eigen::Vector3d(mat_->high().x(), mat_->high().y(), 1.3 * mat_->halfSize()));
      return box;
    }
    // Where the optical axes meet, as far as the narrowest frame reaches.
    Eigen::Matrix3d A = Eigen::Matrix3d::Zero();
    Eigen::Vector3d b = Eigen::Vector3d::Zero();
    for (const View& view : views_) {
      const Eigen::Vector3d d = view.camera.T_camera_hold.rotation().row(2).transpose();
      const Eigen::Matrix3d across = Eigen::Matrix3d::Identity() - d * d.transpose();
      A += across;
      b += across * view.camera.centre_H_mm();
    }
    const Eigen::Vector3d middle = A.ldlt().solve(b);
    double reach = 0;
    for (const View& view : views_) {
      const double depth = (view.camera.T_camera_hold * middle).z();
      reach = std::max(
          reach, depth * std::max(view.bgr.cols, view.bgr.rows) / 2 / view.camera.model.fx_px);
    }
    box.extend(Eigen::Vector3d(middle.array() - reach));
    box.extend(Eigen::Vector3d(middle.array() + reach));
    box.min().z() = std::max(box.min().z(), input_.floor_z_mm);
    return box;
  }

  /// Space in which few photos see through to the bare mat: first bounds of the hold.
  void carveBare() {
    const Eigen::AlignedBox3d box = stage();
    VoxelGrid grid;
    grid.origin_mm = box.min();
    grid.cell_mm = box.sizes().maxCoeff() / 90;
    grid.nodes = (box.sizes() / grid.cell_mm).array().ceil().cast<int>() + 1;
    grid.value.assign(std::size_t(grid.nodes.prod()), 1.f);
    const float tolerated = mat_ ? 0.10f : 0.25f;
    tbb::parallel_for(0, grid.nodes.z(), [&](int z) {
      for (int y = 0; y < grid.nodes.y(); ++y)
        for (int x = 0; x < grid.nodes.x(); ++x)
          grid.value[grid.index(x, y, z)] = seenThrough(grid.position_mm(x, y, z)) - tolerated;
    });
    keepLargestSolid(grid, 0.5f);
    const TriangleMesh loose = isosurface(grid);
    if (loose.triangles.empty())
      throw BadInput(
          "Nothing that stands on the mat was found in the photos; put the hold in the middle of "
          "the mat, keep mat and hold in view, and use a hold whose colour is not the paper's.");
    for (float& v : grid.value) v += tolerated - 0.04f;
    keepLargestSolid(grid, 0.5f);
    const TriangleMesh tight = isosurface(grid);
    eachView([&](std::size_t i) {
      Layer& layer = layers_[i];
      layer.limit = grown(drawMask(loose, layer.camera), 5);
      layer.core = drawMask(tight, layer.camera);
    });
  }

  /// Share of the photos that see bare mat where a point would be; 1: seen by too few.
  float seenThrough(const Eigen::Vector3d& point) const {
    int seen = 0, through = 0;
    for (const Layer& layer : layers_) {
      const auto p = layer.camera.project(point);
      if (!p) continue;
      const int x = int(std::lround(p->x())), y = int(std::lround(p->y()));
      if (x < 0 || y < 0 || x >= layer.ink.cols || y >= layer.ink.rows) continue;
      if (mat_ && layer.inkAt(x, y) == MatInk::None) continue;
      ++seen;
      through +=
          layer.bare.at<std::uint8_t>(y, x) && (!mat_ || layer.patterned.at<std::uint8_t>(y, x));
    }
    return seen < 3 ? 1.f : float(through) / float(seen);
  }

  // --- Colours and cuts --------------------------------------------------------------------

  /// Evenly spread samples of the pixels where `where` is set, at most `most` of them.
  static void sample(const Layer& layer, const cv::Mat& where, int most,
                     std::vector<Eigen::Vector3f>& out) {
    const int count = cv::countNonZero(where);
    const int step = std::max(1, count / std::max(most, 1));
    int k = 0;
    for (int y = 0; y < where.rows; ++y)
      for (int x = 0; x < where.cols; ++x)
        if (where.at<std::uint8_t>(y, x) && k++ % step == 0) out.push_back(layer.feature(x, y));
  }

  /// Clears the pixels that look like the ink the mat has behind them.
  void leaveOutInk(std::size_t i, cv::Mat& where) const {
    const Layer& layer = layers_[i];
    const MatColours colours = matColours(i);
    for (int y = 0; y < where.rows; ++y)
      for (int x = 0; x < where.cols; ++x)
        if (where.at<std::uint8_t>(y, x) && layer.patterned.at<std::uint8_t>(y, x) &&
            colours.likely(layer.inkAt(x, y), layer.feature(x, y)))
          where.at<std::uint8_t>(y, x) = 0;
  }

  /// Clears the pixels that look like the plain background: gaps between parts of the hold that the
  /// outlines do not show yet would teach the background's colours as the hold's.
  void leaveOutPlain(const Layer& layer, cv::Mat& where) const {
    for (int y = 0; y < where.rows; ++y)
      for (int x = 0; x < where.cols; ++x)
        if (where.at<std::uint8_t>(y, x) && plain_.logDensity(layer.feature(x, y)) > plain_least_)
          where.at<std::uint8_t>(y, x) = 0;
  }

  void learnColours() {
    std::vector<Eigen::Vector3f> hold;
    around_.assign(views_.size(), {});
    std::vector<std::vector<Eigen::Vector3f>> outside(views_.size());
    for (std::size_t i = 0; i < layers_.size(); ++i) {
      const Layer& layer = layers_[i];
      cv::Mat surely = layer.mask.empty() ? cv::Mat(shrunk(layer.core, 2) & ~grown(layer.bare, 1))
                                          : cv::Mat(shrunk(layer.mask, 2) & layer.limit);
      // Before the first cut, what stands before the sheet is surer than what stands before
      // clutter.
      if (layer.mask.empty() && mat_) surely.setTo(0, layer.ink == int(MatInk::None));
      if (mat_)
        leaveOutInk(i, surely);
      else
        leaveOutPlain(layer, surely);
      sample(layer, surely, 1500, hold);
      cv::Mat beside = ~grown(layer.limit, 3);
      if (!layer.mask.empty()) beside |= ~grown(layer.mask, 4) & layer.limit;
      beside.setTo(0, layer.ink != int(MatInk::None));
      sample(layer, beside, 6000, outside[i]);
    }
    hold_ = ColourModel::learn(hold, 8);
    if (hold_.empty())
      throw BadInput(
          "The hold could not be told from the mat in the photos; use a mat or light in which the "
          "hold's colour differs from the paper.");
    eachView([&](std::size_t i) { around_[i] = ColourModel::learn(outside[i], 8); });
  }

  /// Features in which the mat's own pattern is no edge: where the colour is the ink's, that ink is
  /// painted over with paper, so that only the hold's edge draws the cut.
  static cv::Mat withoutPattern(const Layer& layer, const MatColours& colours,
                                const cv::Rect& part) {
    cv::Mat out = layer.features(part).clone();
    for (int y = 0; y < part.height; ++y)
      for (int x = 0; x < part.width; ++x) {
        const MatInk ink = layer.inkAt(x + part.x, y + part.y);
        if ((ink == MatInk::Black || ink == MatInk::Edge) &&
            layer.patterned.at<std::uint8_t>(y + part.y, x + part.x) &&
            colours.likely(ink, layer.feature(x + part.x, y + part.y)))
          out.at<cv::Vec3f>(y, x) = {MatColours::kPaper, 0, 0};
      }
    return out;
  }

  /// Log likelihood as hold minus as background.
  float gain(std::size_t i, const MatColours& colours, const Layer& layer, int x, int y) const {
    const MatInk ink = layer.inkAt(x, y);
    const Eigen::Vector3f f = layer.feature(x, y);
    float background = ink == MatInk::None ? around_[i].logDensity(f) : colours.logDensity(ink, f);
    // Dark where the mat is black says little if the mat is not recognised around.
    if (ink != MatInk::None && !layer.patterned.at<std::uint8_t>(y, x)) background -= 3;
    return std::clamp(hold_.logDensity(f) - background, -kMostGain, kMostGain);
  }

  void cut(std::size_t i) {
    Layer& layer = layers_[i];
    const cv::Rect part = cv::boundingRect(layer.limit);
    cv::Mat mask(layer.ink.size(), CV_8UC1, cv::Scalar(0));
    if (!part.empty()) {
      cv::Mat known(part.size(), CV_8UC1, cv::Scalar(kFree)), gains(part.size(), CV_32FC1);
      known.setTo(kSurelyBackground, layer.limit(part) == 0);
      // Once there is an outline, what lies deep inside of it and of the hull is settled.
      if (!layer.mask.empty())
        known.setTo(kSurelyForeground, shrunk(layer.mask & layer.core, 14)(part));
      const MatColours colours = matColours(i);
      for (int y = 0; y < part.height; ++y)
        for (int x = 0; x < part.width; ++x)
          if (known.at<std::uint8_t>(y, x) == kFree)
            gains.at<float>(y, x) = gain(i, colours, layer, x + part.x, y + part.y);
      minimalCut(gains, withoutPattern(layer, colours, part), known, 10).copyTo(mask(part));
    }
    tidy(mask, layer);
    layer.mask = mask;
  }

  /// Drops crumbs, fills holes that are small or through which no bare mat is seen.
  static void tidy(cv::Mat& mask, const Layer& layer) {
    cv::Mat labels, stats, centres;
    int n = cv::connectedComponentsWithStats(mask, labels, stats, centres, 4);
    int largest = 0;
    for (int k = 1; k < n; ++k) largest = std::max(largest, stats.at<int>(k, cv::CC_STAT_AREA));
    for (int k = 1; k < n; ++k)
      if (stats.at<int>(k, cv::CC_STAT_AREA) < 0.03 * largest) mask.setTo(0, labels == k);
    n = cv::connectedComponentsWithStats(mask == 0, labels, stats, centres, 4);
    for (int k = 1; k < n; ++k) {
      const cv::Rect r(stats.at<int>(k, 0), stats.at<int>(k, 1), stats.at<int>(k, 2),
                       stats.at<int>(k, 3));
      if (r.x == 0 || r.y == 0 || r.br().x == mask.cols || r.br().y == mask.rows) continue;
      const cv::Mat hole = labels(r) == k;
      // A bore is too small to tell its shadow from a black cell; a wrong hole would carve a
      // tunnel.
      const int area = stats.at<int>(k, cv::CC_STAT_AREA);
      if (area < 0.02 * largest || cv::countNonZero(hole & layer.bare(r)) < 0.3 * area)
        mask(r).setTo(255, hole);
    }
  }

  // --- The hull of all -----------------------------------------------------------------------

  std::vector<View> maskedViews() const {
    std::vector<View> out(views_.size());
    for (std::size_t i = 0; i < views_.size(); ++i) {
      out[i].camera = layers_[i].camera;
      out[i].mask = layers_[i].mask;
    }
    return out;
  }

  Hull roughHull(int outvoted) const {
    HullOptions options;
    options.box_mm = input_.box_mm;
    options.floor_z_mm = input_.floor_z_mm;
    options.outvoted = outvoted;
    const std::vector<View> masked = maskedViews();
    if (!options.box_mm) {
      const Eigen::AlignedBox3d box = boundByMasks(masked, options);
      if (!box.isEmpty()) options.cell_mm = box.sizes().maxCoeff() / 90;
    } else {
      options.cell_mm = options.box_mm->sizes().maxCoeff() / 90;
    }
    return carveHull(masked, options);
  }

  void limitByHull(bool last) {
    const Hull hull = roughHull(std::max(1, int(views_.size()) / 12));
    hull_overlap_.assign(views_.size(), 0);
    eachView([&](std::size_t i) {
      Layer& layer = layers_[i];
      const cv::Mat seen = drawMask(hull.mesh, layer.camera);
      hull_overlap_[i] = overlap(seen, layer.mask);
      const int reach = std::max(4, int(0.03 * cv::boundingRect(seen).width));
      layer.limit = grown(seen, last ? 2 : reach);
      layer.core = seen;
      if (last) layer.mask &= layer.limit;
      if (mat_) giveBack(i, seen);  // A plain background has no clutter.
    });
  }

  /// Clutter of the hold's colour right behind it makes one cut take a chunk off the hold, and one
  /// such photo carves it away. Chunks that nearly all other photos leave in place, and that stand
  /// before clutter of nearly the hold's colours, are given back. Before the mat the cut is right.
  void giveBack(std::size_t i, const cv::Mat& hull) {
    Layer& layer = layers_[i];
    const cv::Mat missing = hull & ~layer.mask;
    cv::Mat depth, labels;
    cv::distanceTransform(missing, depth, cv::DIST_L2, 3);
    const int chunks = cv::connectedComponents(missing, labels, 4);
    for (int k = 1; k < chunks; ++k) {
      const cv::Mat chunk = labels == k;
      double deepest = 0;
      cv::minMaxLoc(depth, nullptr, &deepest, nullptr, nullptr, chunk);
      if (deepest > kChunk_px && beforeLikeClutter(i, chunk)) layer.mask.setTo(255, chunk);
    }
  }

  /// True where most of a chunk stands before no mat and looks hardly less like the hold.
  bool beforeLikeClutter(std::size_t i, const cv::Mat& chunk) const {
    const Layer& layer = layers_[i];
    const MatColours colours = matColours(i);
    const int area = cv::countNonZero(chunk);
    if (2 * cv::countNonZero(chunk & (layer.ink == int(MatInk::None))) < area) return false;
    double sum = 0;
    for (int y = 0; y < chunk.rows; ++y)
      for (int x = 0; x < chunk.cols; ++x)
        if (chunk.at<std::uint8_t>(y, x)) sum += gain(i, colours, layer, x, y);
    return sum > kWeakGain * area;
  }

  std::vector<SilhouetteVerdict> judge() const {
    std::vector<SilhouetteVerdict> verdicts(views_.size());
    for (std::size_t i = 0; i < verdicts.size(); ++i) {
      verdicts[i].confidence = hull_overlap_[i];
      if (hull_overlap_[i] < kUsableOverlap)
        verdicts[i].reason = "The hold's outline could not be told from its surroundings here.";
    }
    return verdicts;
  }

  /// Brings the outline to the photo's resolution and to the edge, within the doubt of a working
  /// pixel or two.
  void refine(std::size_t i) {
    View& view = views_[i];
    const Layer& rough = layers_[i];
    cv::Mat mask;
    cv::resize(rough.mask, mask, view.bgr.size(), 0, 0, cv::INTER_LINEAR);
    mask = mask >= 128;
    if (rough.scale < 0.999) {
      const int reach = int(std::ceil(1.5 / rough.scale));
      cv::Rect part = cv::boundingRect(mask);
      part = cv::Rect(part.x - 2 * reach, part.y - 2 * reach, part.width + 4 * reach,
                      part.height + 4 * reach) &
             cv::Rect({0, 0}, view.bgr.size());
      cv::Mat known(part.size(), CV_8UC1, cv::Scalar(kFree));
      known.setTo(kSurelyForeground, shrunk(mask(part), reach));
      known.setTo(kSurelyBackground, grown(mask(part), reach) == 0);
      Layer fine = makeLayer(i, 1, part, grown(known == kFree, 1));
      if (mat_) {
        cv::Mat patterned;
        cv::resize(rough.patterned, patterned, view.bgr.size(), 0, 0, cv::INTER_NEAREST);
        fine.patterned = patterned(part);
      }
      cv::Mat gains(part.size(), CV_32FC1, cv::Scalar(0));
      const MatColours colours = matColours(i);
      for (int y = 0; y < part.height; ++y)
        for (int x = 0; x < part.width; ++x)
          if (known.at<std::uint8_t>(y, x) == kFree)
            gains.at<float>(y, x) = gain(i, colours, fine, x, y);
      const cv::Rect all({0, 0}, part.size());
      minimalCut(gains, withoutPattern(fine, colours, all), known, 10).copyTo(mask(part));
    }
    view.mask = mask;
  }

  std::vector<View>& views_;
  const SilhouetteInput& input_;
  const Progress& progress_;
  std::optional<MatBackground> mat_;
  std::vector<std::optional<PaperLight>> light_;
  float white_ = 1;
  std::vector<Layer> layers_;
  ColourModel plain_, hold_;
  float plain_least_ = 0;
  std::vector<ColourModel> around_;
  std::vector<double> hull_overlap_;
};

}  // namespace

std::vector<SilhouetteVerdict> findSilhouettes(std::vector<View>& views,
                                               const SilhouetteInput& input,
                                               const Progress& progress) {
  if (views.size() < 3)
    throw BadInput("Only " + std::to_string(views.size()) +
                   " photos can be used, three are the least; take photos all round the hold.");
  return Search(views, input, progress).run();
}

}  // namespace holdshelf
