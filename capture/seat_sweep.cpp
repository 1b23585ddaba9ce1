// SPDX-License-Identifier: Apache-2.0
#include "capture/seat_sweep.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "capture/agreement_peak.h"
#include "capture/recess_look.h"

namespace holdshelf {
namespace {

using Eigen::Vector3d;

constexpr double kBoreShare = 0.58;  ///< Of the radius: a bolt's bore lies within.
constexpr double kWallGap_mm = 0.5;  ///< Blur mixes wall and floor so far.
constexpr double kDetail_mm = 1.0;   ///< What is larger is shade, and is taken out.
constexpr double kStep_mm = 0.25;    ///< Between samples of the floor.
constexpr double kCoarse_mm = 0.5, kFine_mm = 0.125;  ///< Between heights tried.
constexpr double kPatch_mm2 = 1.0;                    ///< So much floor is one independent word.
constexpr double kLeastPair_mm2 = 4;                  ///< Below this a pair says nothing.
constexpr double kLeastAgreement = 0.3;  ///< Mean correlation of a floor that is believed.
constexpr double kDeepest_mm = 1, kShallowest_mm = 2.5;  ///< From the wall, below the rim.
constexpr double kSweepReach_mm = 2.0;                   ///< Of the fine sweep to either side.
// What all photos share: on rendered captures with true poses the peak lay 0.08 mm high.
constexpr double kLeastSigma_mm = 0.08;

/// One photo's samples of a plane in the recess.
struct Tile {
  cv::Mat_<float> value;
  cv::Mat_<std::uint8_t> seen;
};

class Sweep {
 public:
  Sweep(const Recess& recess, const std::vector<View>& views, const RayScene& hold)
      : recess_(recess), hold_(hold), size_(2 * static_cast<int>(recess.radius_mm / kStep_mm) + 1) {
    top_ = recess.lowestRim_mm() - kShallowest_mm;
    looks_ = looksInto(recess, views, kShallowest_mm);
  }

  std::optional<SeatFloor> find() const {
    if (looks_.size() < 2 || top_ <= kDeepest_mm) return std::nullopt;
    const auto coarse = bestHeight();
    if (!coarse) return std::nullopt;
    std::vector<double> heights;
    std::vector<PairWords> words;
    std::optional<AgreementPeak> found;
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

  Tile tile(const RecessLook& look, double height, const cv::Mat_<std::uint8_t>& seen) const {
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

  PairWords wordsOf(double height, const std::vector<cv::Mat_<std::uint8_t>>& seen) const {
    std::vector<Tile> tiles;
    for (std::size_t i = 0; i < looks_.size(); ++i)
      tiles.push_back(tile(looks_[i], height, seen[i]));
    PairWords words;
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

  std::vector<PairWords> wordsAt(const std::vector<double>& heights) const {
    std::vector<PairWords> words(heights.size());
    tbb::parallel_for(std::size_t{0}, heights.size(),
                      [&](std::size_t k) { words[k] = wordsOf(heights[k], seenAt(heights[k])); });
    return words;
  }

  SeatFloor floorOf(const AgreementPeak& peak, const std::vector<double>& heights,
                    const std::vector<PairWords>& words) const {
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
    const double formal = peak.sigma_mm(std::max(1.0, twice * kStep_mm * kStep_mm / kPatch_mm2));
    floor.sigma_mm =
        std::hypot(kLeastSigma_mm, std::max(formal, jackknifeSigma_mm(photos, heights, words)));
    return floor;
  }

  /// The height at which the photos agree best, each height tried for itself; nullopt: none stands
  /// out.
  std::optional<double> bestHeight() const {
    std::vector<double> heights;
    for (double h = kDeepest_mm; h <= top_; h += kCoarse_mm) heights.push_back(h);
    std::vector<double> score(heights.size(), 0);
    tbb::parallel_for(std::size_t{0}, heights.size(), [&](std::size_t k) {
      score[k] = agreementScore(wordsOf(heights[k], seenAt(heights[k])));
    });
    return outstandingHeight(heights, score, kCoarse_mm);
  }

  const Recess& recess_;
  const RayScene& hold_;
  const int size_;
  double top_ = 0;
  std::vector<RecessLook> looks_;
};

}  // namespace

std::optional<SeatFloor> findSeatFloor(const Recess& recess, const std::vector<View>& views,
                                       const RayScene& hold) {
  if (recess.rim_mm.empty() || recess.radius_mm <= 2 * kWallGap_mm) return std::nullopt;
  return Sweep(recess, views, hold).find();
}

}  // namespace holdshelf
