// SPDX-License-Identifier: Apache-2.0
#include "capture/seat_sweep.h"

#include <tbb/parallel_for.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

namespace holdshelf {
namespace {

using Eigen::Vector2d;
using Eigen::Vector3d;

constexpr double kBoreShare = 0.58;  ///< Of the radius: a bolt's bore lies within.
constexpr double kWallGap_mm = 0.5;  ///< Blur mixes wall and floor so far.
constexpr double kRimGap_mm = 0.4;   ///< Rays pass the rim by so much at least.
constexpr double kDetail_mm = 1.0;   ///< What is larger is shade, and is taken out.
constexpr double kStep_mm = 0.25;    ///< Between samples of the floor.
constexpr double kCoarse_mm = 0.5, kFine_mm = 0.125;  ///< Between heights tried.
constexpr double kPatch_mm2 = 1.0;                    ///< So much floor is one independent word.
constexpr double kLeastPair_mm2 = 4;                  ///< Below this a pair says nothing.
constexpr double kLeast_mm2 = 12;                     ///< All pairs together.
constexpr double kDoubt_mm2 = 5;         ///< Of disagreement, added to each height's evidence.
constexpr double kLeastAgreement = 0.3;  ///< Mean correlation of a floor that is believed.
constexpr double kAlone = 0.55;          ///< The next best height must fall below this share.
constexpr double kApart_mm = 2.5;        ///< Heights this far apart are rivals.
constexpr double kBroadest_mm = 5;       ///< A floor is out of focus a few mm above or below it.
constexpr double kBroadAt = 0.6;         ///< Of a peak's score: where its breadth is measured.
constexpr double kDeepest_mm = 1, kShallowest_mm = 2.5;  ///< From the wall, below the rim.
constexpr double kSweepReach_mm = 2.0;                   ///< Of the fine sweep to either side.
constexpr double kUpperPart = 0.06;  ///< Of the peak's correlation, that its place is taken from.
constexpr double kBlur_px = 0.7;     ///< Bilinear sampling wants no finest detail.
// What all photos share: on rendered captures with true poses the peak lay 0.08 mm high.
constexpr double kLeastSigma_mm = 0.08;

/// One photo's samples of a plane in the recess.
struct Tile {
  cv::Mat_<float> value;
  cv::Mat_<std::uint8_t> seen;
};

/// How well two photos agree, and over how much of the floor.
struct PairWord {
  int a = 0, b = 0;
  double area_mm2 = 0, correlation = 0;
};
using Words = std::vector<PairWord>;

struct Peak {
  double height_mm = 0, agreement = 0, curvature = 0;
};

/// A photo's surroundings of the recess in the hold's own hue, so that a dark blue floor is not
/// looked at through a weighted mean for human eyes.
struct Look {
  const View* view;
  cv::Mat_<float> grey;
  cv::Point corner;

  std::optional<float> at(const Vector3d& point_mm) const {
    const auto q = view->camera.project(point_mm);
    if (!q) return std::nullopt;
    const double x = q->x() - corner.x, y = q->y() - corner.y;
    if (!(x >= 0 && y >= 0 && x < grey.cols - 1 && y < grey.rows - 1)) return std::nullopt;
    const int ix = static_cast<int>(x), iy = static_cast<int>(y);
    const auto fx = static_cast<float>(x - ix), fy = static_cast<float>(y - iy);
    return (grey(iy, ix) * (1 - fx) + grey(iy, ix + 1) * fx) * (1 - fy) +
           (grey(iy + 1, ix) * (1 - fx) + grey(iy + 1, ix + 1) * fx) * fy;
  }
};

/// The picture's part that shows the cylinder between two heights; empty: not in the frame.
cv::Rect partShowing(const Recess& recess, const View& view, double low_mm, double high_mm) {
  std::vector<cv::Point> points;
  for (int k = 0; k < 24; ++k)
    for (double z : {low_mm, high_mm}) {
      const double a = k * M_PI / 12;
      const auto q = view.camera.project({recess.axis_mm.x() + recess.radius_mm * std::cos(a),
                                          recess.axis_mm.y() + recess.radius_mm * std::sin(a), z});
      if (!q) return {};
      points.emplace_back(static_cast<int>(std::lround(q->x())),
                          static_cast<int>(std::lround(q->y())));
    }
  cv::Rect part = cv::boundingRect(points);
  part = cv::Rect(part.x - 4, part.y - 4, part.width + 8, part.height + 8);
  return part & cv::Rect(0, 0, view.bgr.cols, view.bgr.rows);
}

class Sweep {
 public:
  Sweep(const Recess& recess, const std::vector<View>& views, const RayScene& hold)
      : recess_(recess), hold_(hold), size_(2 * static_cast<int>(recess.radius_mm / kStep_mm) + 1) {
    top_ = recess.lowestRim_mm() - kShallowest_mm;
    for (const View& view : views)
      if (looksIn(view)) looks_.push_back({&view, {}, {}});
    takePictures();
  }

  std::optional<SeatFloor> find() const {
    if (looks_.size() < 2 || top_ <= kDeepest_mm) return std::nullopt;
    const auto coarse = bestHeight();
    if (!coarse) return std::nullopt;
    std::vector<double> heights;
    std::vector<Words> words;
    std::optional<Peak> found;
    // The coarse peak leans to where more is seen.
    double middle = *coarse;
    for (int round = 0; round < 4 && !found; ++round) {
      heights.clear();
      for (double d = -kSweepReach_mm; d < kSweepReach_mm + 1e-9; d += kFine_mm)
        heights.push_back(middle + d);
      words = wordsAt(heights);
      found = peakOf(heights, words, -1);
      if (!found) middle -= 0.5 * kSweepReach_mm;
    }
    if (!found) return std::nullopt;
    if (found->agreement < kLeastAgreement) return std::nullopt;
    return floorOf(*found, heights, words);
  }

 private:
  /// Whether a view may see past the rim down to anything below it.
  bool looksIn(const View& view) const {
    const Vector3d d = view.camera.centre_H_mm() -
                       Vector3d(recess_.axis_mm.x(), recess_.axis_mm.y(), recess_.lowestRim_mm());
    return d.z() * 2 * recess_.radius_mm > kShallowest_mm * d.head<2>().norm();
  }

  void takePictures() {
    std::vector<cv::Mat> parts;
    std::vector<Look> kept;
    cv::Scalar sum;
    for (const Look& look : looks_) {
      const cv::Rect part = partShowing(recess_, *look.view, 0, recess_.lowestRim_mm());
      if (part.area() < 100) continue;
      cv::Mat colours;
      look.view->bgr(part).convertTo(colours, CV_32F);
      sum += cv::mean(colours);
      parts.push_back(colours);
      kept.push_back({look.view, {}, part.tl()});
    }
    looks_ = std::move(kept);
    const double all = std::max(1e-6, sum[0] + sum[1] + sum[2]);
    const cv::Matx13f hue(static_cast<float>(sum[0] / all), static_cast<float>(sum[1] / all),
                          static_cast<float>(sum[2] / all));
    for (std::size_t i = 0; i < looks_.size(); ++i) {
      cv::Mat grey;
      cv::transform(parts[i], grey, hue);
      cv::GaussianBlur(grey, looks_[i].grey, {0, 0}, kBlur_px);
    }
  }

  Vector3d sample(int x, int y, double height) const {
    const int middle = size_ / 2;
    return {recess_.axis_mm.x() + (x - middle) * kStep_mm,
            recess_.axis_mm.y() + (y - middle) * kStep_mm, height};
  }

  bool bears(const Vector3d& p) const {
    const double r = (p.head<2>() - recess_.axis_mm).norm();
    return r >= kBoreShare * recess_.radius_mm && r <= recess_.radius_mm - kWallGap_mm;
  }

  /// What each photo sees of the floor if it lies at this height.
  std::vector<cv::Mat_<std::uint8_t>> seenAt(double height) const {
    std::vector<cv::Mat_<std::uint8_t>> seen(looks_.size());
    for (std::size_t i = 0; i < looks_.size(); ++i) {
      seen[i] = cv::Mat_<std::uint8_t>(size_, size_, std::uint8_t(0));
      const Vector3d eye = looks_[i].view->camera.centre_H_mm();
      for (int y = 0; y < size_; ++y)
        for (int x = 0; x < size_; ++x) {
          const Vector3d p = sample(x, y, height);
          seen[i](y, x) = bears(p) && seenInRecess(recess_, hold_, p, eye);
        }
    }
    return seen;
  }

  Tile tile(const Look& look, double height, const cv::Mat_<std::uint8_t>& seen) const {
    Tile out{cv::Mat_<float>(size_, size_, 0.F), seen.clone()};
    for (int y = 0; y < size_; ++y)
      for (int x = 0; x < size_; ++x) {
        if (!seen(y, x)) continue;
        const auto value = look.at(sample(x, y, height));
        if (value)
          out.value(y, x) = *value;
        else
          out.seen(y, x) = 0;
      }
    cv::Mat weight, mean;
    out.seen.convertTo(weight, CV_32F);
    cv::GaussianBlur(out.value, mean, {0, 0}, kDetail_mm / kStep_mm);
    cv::GaussianBlur(weight, weight, {0, 0}, kDetail_mm / kStep_mm);
    for (int y = 0; y < size_; ++y)
      for (int x = 0; x < size_; ++x)
        if (out.seen(y, x)) out.value(y, x) -= mean.at<float>(y, x) / weight.at<float>(y, x);
    return out;
  }

  Words wordsOf(double height, const std::vector<cv::Mat_<std::uint8_t>>& seen) const {
    std::vector<Tile> tiles;
    for (std::size_t i = 0; i < looks_.size(); ++i)
      tiles.push_back(tile(looks_[i], height, seen[i]));
    Words words;
    for (int a = 0; a < static_cast<int>(tiles.size()); ++a)
      for (int b = a + 1; b < static_cast<int>(tiles.size()); ++b) {
        PairWord word = compare(tiles[a], tiles[b]);
        word.a = a, word.b = b;
        if (word.area_mm2 >= kLeastPair_mm2) words.push_back(word);
      }
    return words;
  }

  static PairWord compare(const Tile& one, const Tile& two) {
    double n = 0, a = 0, b = 0, aa = 0, bb = 0, ab = 0;
    for (int y = 0; y < one.seen.rows; ++y)
      for (int x = 0; x < one.seen.cols; ++x) {
        if (!one.seen(y, x) || !two.seen(y, x)) continue;
        const double u = one.value(y, x), v = two.value(y, x);
        n += 1, a += u, b += v, aa += u * u, bb += v * v, ab += u * v;
      }
    const double va = aa - a * a / n, vb = bb - b * b / n;
    PairWord word;
    if (n < 2 || !(va > 0 && vb > 0)) return word;
    word.area_mm2 = n * kStep_mm * kStep_mm;
    word.correlation = (ab - a * b / n) / std::sqrt(va * vb);
    return word;
  }

  std::vector<Words> wordsAt(const std::vector<double>& heights) const {
    std::vector<Words> words(heights.size());
    tbb::parallel_for(std::size_t{0}, heights.size(),
                      [&](std::size_t k) { words[k] = wordsOf(heights[k], seenAt(heights[k])); });
    return words;
  }

  /// Agreement of the photos at each height, each tried for itself.
  std::vector<double> scoresAt(const std::vector<double>& heights) const {
    std::vector<double> score(heights.size(), 0);
    tbb::parallel_for(std::size_t{0}, heights.size(), [&](std::size_t k) {
      double sum = 0, area = 0;
      for (const PairWord& word : wordsOf(heights[k], seenAt(heights[k]))) {
        sum += word.area_mm2 * word.correlation;
        area += word.area_mm2;
      }
      if (area >= kLeast_mm2) score[k] = sum / (area + kDoubt_mm2);
    });
    return score;
  }

  /// The peak that a height lies on.
  static std::size_t upFrom(const std::vector<double>& score, std::size_t k) {
    for (;;) {
      if (k + 1 < score.size() && score[k + 1] > score[k])
        ++k;
      else if (k > 0 && score[k - 1] > score[k])
        --k;
      else
        return k;
    }
  }

  /// Whether a peak is a broad one: no floor's, but that of the shade which the rim throws into the
  /// recess and which photos share at any height somewhat.
  static bool broad(const std::vector<double>& score, std::size_t peak) {
    std::size_t low = peak, high = peak;
    while (low > 0 && score[low - 1] > kBroadAt * score[peak]) --low;
    while (high + 1 < score.size() && score[high + 1] > kBroadAt * score[peak]) ++high;
    return static_cast<double>(high - low) * kCoarse_mm > kBroadest_mm;
  }

  /// The height at which the photos agree best; nullopt: none stands out.
  std::optional<double> bestHeight() const {
    std::vector<double> heights;
    for (double h = kDeepest_mm; h <= top_; h += kCoarse_mm) heights.push_back(h);
    const std::vector<double> score = scoresAt(heights);
    if (score.empty()) return std::nullopt;
    const auto best =
        static_cast<std::size_t>(std::max_element(score.begin(), score.end()) - score.begin());
    if (score[best] <= 0 || broad(score, best)) return std::nullopt;
    for (std::size_t k = 0; k < heights.size(); ++k)
      if (std::abs(heights[k] - heights[best]) > kApart_mm && score[k] > kAlone * score[best] &&
          upFrom(score, k) != best)  // A peak's own slope is no rival.
        return std::nullopt;
    return heights[best];
  }

  /// The peak of the mean correlation over the heights, one photo's words left out (-1: none).
  static std::optional<Peak> peakOf(const std::vector<double>& heights,
                                    const std::vector<Words>& words, int without) {
    constexpr double kNothing = -1;
    std::vector<double> mean(heights.size(), kNothing);
    for (std::size_t k = 0; k < heights.size(); ++k) {
      double sum = 0, area = 0;
      for (const PairWord& word : words[k]) {
        if (word.a == without || word.b == without) continue;
        sum += word.area_mm2 * word.correlation;
        area += word.area_mm2;
      }
      if (area > kLeastPair_mm2) mean[k] = sum / area;
    }
    const auto best =
        static_cast<std::size_t>(std::max_element(mean.begin(), mean.end()) - mean.begin());
    // All of the peak's upper part speaks: noise shifts the single highest place of a broad one.
    std::size_t low = best, high = best;
    while (low > 0 && mean[low - 1] > mean[best] - kUpperPart) --low;
    while (high + 1 < mean.size() && mean[high + 1] > mean[best] - kUpperPart) ++high;
    // A peak has two sides.
    if (low == 0 || high + 1 == mean.size() || high - low < 4 || mean[low - 1] == kNothing)
      return std::nullopt;
    return parabola(heights, mean, low, high);
  }

  /// The vertex of the least-squares parabola through some of the heights' means.
  static std::optional<Peak> parabola(const std::vector<double>& heights,
                                      const std::vector<double>& mean, std::size_t low,
                                      std::size_t high) {
    const double middle = 0.5 * (heights[low] + heights[high]);
    Eigen::Matrix3d A = Eigen::Matrix3d::Zero();
    Vector3d b = Vector3d::Zero();
    for (std::size_t k = low; k <= high; ++k) {
      const double t = heights[k] - middle;
      const Vector3d row(1, t, t * t);
      A += row * row.transpose();
      b += row * mean[k];
    }
    const Vector3d q = A.ldlt().solve(b);
    if (q[2] >= 0) return std::nullopt;
    const double vertex = -q[1] / (2 * q[2]);
    if (std::abs(vertex) > 0.5 * (heights[high] - heights[low])) return std::nullopt;
    return Peak{middle + vertex, q[0] + 0.5 * q[1] * vertex, -2 * q[2]};
  }

  SeatFloor floorOf(const Peak& peak, const std::vector<double>& heights,
                    const std::vector<Words>& words) const {
    SeatFloor floor;
    floor.height_mm = peak.height_mm;
    floor.agreement = peak.agreement;
    std::vector<int> photos;
    for (const PairWord& word : words[words.size() / 2])
      photos.insert(photos.end(), {word.a, word.b});
    std::sort(photos.begin(), photos.end());
    photos.erase(std::unique(photos.begin(), photos.end()), photos.end());
    floor.photos = static_cast<int>(photos.size());
    double twice = 0, ring = 0;
    const auto seen = seenAt(peak.height_mm);
    for (int y = 0; y < size_; ++y)
      for (int x = 0; x < size_; ++x) {
        if (!bears(sample(x, y, peak.height_mm))) continue;
        int by = 0;
        for (const auto& s : seen) by += s(y, x);
        ring += 1;
        twice += by >= 2;
      }
    floor.seen_share = ring > 0 ? twice / ring : 0;
    const double words_free = std::max(1.0, twice * kStep_mm * kStep_mm / kPatch_mm2);
    const double formal = std::sqrt((1 - peak.agreement) / (peak.curvature * words_free));
    floor.sigma_mm =
        std::hypot(kLeastSigma_mm, std::max(formal, jackknife(photos, heights, words)));
    return floor;
  }

  static double jackknife(const std::vector<int>& photos, const std::vector<double>& heights,
                          const std::vector<Words>& words) {
    std::vector<double> without;
    for (int photo : photos)
      if (const auto peak = peakOf(heights, words, photo)) without.push_back(peak->height_mm);
    if (without.size() < 2) return 0.5;
    double mean = 0, squared = 0;
    for (double h : without) mean += h / static_cast<double>(without.size());
    for (double h : without) squared += (h - mean) * (h - mean);
    const double n = static_cast<double>(without.size());
    return std::sqrt((n - 1) / n * squared);
  }

  const Recess& recess_;
  const RayScene& hold_;
  const int size_;
  double top_ = 0;
  std::vector<Look> looks_;
};

}  // namespace

double Recess::lowestRim_mm() const {
  return rim_mm.empty() ? 0 : *std::min_element(rim_mm.begin(), rim_mm.end());
}

double Recess::rimAt_mm(double azimuth_rad) const {
  const double turn = azimuth_rad / (2 * M_PI), n = static_cast<double>(rim_mm.size());
  const double at = (turn - std::floor(turn)) * n;
  const auto low = static_cast<std::size_t>(at) % rim_mm.size();
  // The higher of the two beside it: a ray that touches the rim does not count as free.
  return std::max(rim_mm[low], rim_mm[(low + 1) % rim_mm.size()]);
}

bool seenInRecess(const Recess& recess, const RayScene& hold, const Vector3d& point_mm,
                  const Vector3d& eye_mm) {
  const Vector3d d = (eye_mm - point_mm).normalized();
  const Vector2d from = point_mm.head<2>() - recess.axis_mm, along = d.head<2>();
  const double a = along.squaredNorm(), b = from.dot(along),
               c = from.squaredNorm() - std::pow(recess.radius_mm - kRimGap_mm, 2);
  Vector3d leaves = point_mm;
  if (a > 1e-9) {
    if (c > 0) return false;
    leaves = point_mm + d * ((-b + std::sqrt(b * b - a * c)) / a);
    const Vector2d at = leaves.head<2>() - recess.axis_mm;
    if (leaves.z() < recess.rimAt_mm(std::atan2(at.y(), at.x())) + kRimGap_mm) return false;
  } else {
    leaves.z() = recess.rim_mm.empty()
                     ? point_mm.z()
                     : *std::max_element(recess.rim_mm.begin(), recess.rim_mm.end()) + kRimGap_mm;
  }
  return !hold.occluded(leaves, eye_mm, 0.2);
}

std::optional<SeatFloor> findSeatFloor(const Recess& recess, const std::vector<View>& views,
                                       const RayScene& hold) {
  if (recess.rim_mm.empty() || recess.radius_mm <= 2 * kWallGap_mm) return std::nullopt;
  return Sweep(recess, views, hold).find();
}

}  // namespace holdshelf
