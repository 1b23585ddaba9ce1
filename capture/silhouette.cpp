// SPDX-License-Identifier: Apache-2.0
#include "capture/silhouette.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <opencv2/imgproc.hpp>

#include "capture/bare_ground.h"
#include "capture/first_bounds.h"
#include "capture/hull.h"
#include "capture/outline_cut.h"
#include "capture/photo_layer.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr int kWorkWidth_px = 720;  // Of the larger side, while searching.
constexpr int kRounds = 3;          // Of cutting and carving.
constexpr double kUsableOverlap = 0.8;
// What a cut took off the hull of all: chunks deeper than this at the working width are looked into
constexpr double kChunk_px = 3;
// and given back where the colours say no more than this against the hold.
constexpr float kWeakGain = -2.5f;

void report(const Progress& progress, double done) {
  if (progress && !progress("finding the hold in the photos", done)) throw Interrupted();
}

double overlap(const cv::Mat& a, const cv::Mat& b) {
  const int both = cv::countNonZero(a & b), any = cv::countNonZero(a | b);
  return any > 0 ? double(both) / any : 0;
}

/// All photos and what is learnt of them.
class Search {
 public:
  Search(std::vector<View>& views, const SilhouetteInput& input, const Progress& progress)
      : views_(views),
        input_(input),
        progress_(progress),
        light_(views, input.mat, input.mat_points_H_mm),
        layers_(views.size()) {}

  std::vector<SilhouetteVerdict> run() {
    eachView([&](std::size_t i) {
      const double larger = std::max(views_[i].bgr.cols, views_[i].bgr.rows);
      layers_[i] = light_.layer(i, std::min(1.0, kWorkWidth_px / larger));
    });
    report(progress_, 0.2);
    const BareGround ground(light_, layers_);
    bound(ground);
    report(progress_, 0.35);
    for (int round = 0; round + 1 < kRounds; ++round) cutAndCarve(ground, round);
    const OutlineCut last = cutAndCarve(ground, kRounds - 1);
    std::vector<SilhouetteVerdict> verdicts = judge();
    eachView([&](std::size_t i) {
      if (verdicts[i].used())
        views_[i].mask = last.refined(i, layers_[i], views_[i].bgr.size());
      else
        views_[i].mask.release();
    });
    report(progress_, 1);
    return verdicts;
  }

 private:
  template <class Work>
  void eachView(const Work& work) {
    tbb::parallel_for(std::size_t(0), views_.size(), work);
  }

  void bound(const BareGround& ground) {
    const bool on_mat = light_.mat().has_value();
    const Eigen::AlignedBox3d stage = stageOf(views_, light_, input_.box_mm, input_.floor_z_mm);
    eachView([&](std::size_t i) { ground.mark(i, layers_[i]); });
    boundHold(stage, on_mat, layers_);
    if (!on_mat || holdLooksLikeInk(light_, layers_)) return;
    for (PhotoLayer& layer : layers_) layer.patterned.setTo(255);
    boundHold(stage, on_mat, layers_);
  }

  OutlineCut cutAndCarve(const BareGround& ground, int round) {
    OutlineCut outline(light_, ground, layers_);
    eachView([&](std::size_t i) { outline.cut(i, layers_[i]); });
    limitByHull(outline, round + 1 == kRounds);
    report(progress_, 0.35 + 0.4 * (round + 1) / kRounds);
    return outline;
  }

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

  void limitByHull(const OutlineCut& outline, bool last) {
    const Hull hull = roughHull(std::max(1, int(views_.size()) / 12));
    hull_overlap_.assign(views_.size(), 0);
    eachView([&](std::size_t i) {
      PhotoLayer& layer = layers_[i];
      const cv::Mat seen = drawnIn(layer.camera, hull.mesh);
      hull_overlap_[i] = overlap(seen, layer.mask);
      const int reach = std::max(4, int(0.03 * cv::boundingRect(seen).width));
      layer.limit = grown(seen, last ? 2 : reach);
      layer.core = seen;
      if (last) layer.mask &= layer.limit;
      if (light_.mat()) giveBack(outline, i, seen);  // A plain background has no clutter.
    });
  }

  /// Clutter of the hold's colour right behind it makes one cut take a chunk off the hold, and one
  /// such photo carves it away. Chunks that nearly all other photos leave in place, and that stand
  /// before clutter of nearly the hold's colours, are given back. Before the mat the cut is right.
  void giveBack(const OutlineCut& outline, std::size_t i, const cv::Mat& hull) {
    PhotoLayer& layer = layers_[i];
    const cv::Mat missing = hull & ~layer.mask;
    cv::Mat depth, labels;
    cv::distanceTransform(missing, depth, cv::DIST_L2, 3);
    const int chunks = cv::connectedComponents(missing, labels, 4);
    for (int k = 1; k < chunks; ++k) {
      const cv::Mat chunk = labels == k;
      double deepest = 0;
      cv::minMaxLoc(depth, nullptr, &deepest, nullptr, nullptr, chunk);
      if (deepest > kChunk_px && beforeLikeClutter(outline, i, chunk)) layer.mask.setTo(255, chunk);
    }
  }

  /// True where most of a chunk stands before no mat and looks hardly less like the hold.
  bool beforeLikeClutter(const OutlineCut& outline, std::size_t i, const cv::Mat& chunk) const {
    const PhotoLayer& layer = layers_[i];
    const int area = cv::countNonZero(chunk);
    if (2 * cv::countNonZero(chunk & (layer.ink == int(MatInk::None))) < area) return false;
    return outline.gainOver(i, layer, chunk) > kWeakGain * area;
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

  std::vector<View>& views_;
  const SilhouetteInput& input_;
  const Progress& progress_;
  const PhotoLight light_;
  std::vector<PhotoLayer> layers_;
  std::vector<double> hull_overlap_;
};

}  // namespace

std::vector<SilhouetteVerdict> findSilhouettes(std::vector<View>& views,
                                               const SilhouetteInput& input,
                                               const Progress& progress) {
  if (views.size() < 3)
    throw BadInput("Only " + std::to_string(views.size()) +
                   " photos can be used, three are the least; take photos all round the hold.");
  report(progress, 0);
  return Search(views, input, progress).run();
}

}  // namespace holdshelf
