// SPDX-License-Identifier: Apache-2.0
#include "capture/photo_adjustment.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

#include "capture/mat_photo.h"
#include "capture/median.h"
#include "capture/photo_focal.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

/// The way from markers to poses; `run` reads like it.
class Adjustment {
 public:
  Adjustment(PhotoSet& photos, const Mat& mat, const std::vector<Eigen::Vector2d>& layout,
             int needed, const std::function<void()>& step)
      : set_(photos), mat_(mat), layout_(layout), needed_(needed), step_(step) {}

  AdjustedPhotos run() {
    adjust(false);
    if (refuseZoomed()) {
      requireEnough(set_, needed_);
      bundle_.reset();  // Nothing that two lenses agreed on is a start for one.
      adjust(false);
    }
    if (refuseDisagreeing()) requireEnough(set_, needed_);
    step_();
    // Once more with what is known now: the lens, and where half hidden markers must be.
    refineWithLens();
    adjust(true);
    step_();
    if (refuseDisagreeing()) {
      requireEnough(set_, needed_);
      adjust(true);
    }
    step_();
    return {std::move(index_), std::move(sightings_), std::move(*bundle_)};
  }

 private:
  std::vector<CornerSighting> sightings() const {
    std::vector<CornerSighting> out;
    for (size_t k = 0; k < index_.size(); ++k) {
      const MatPhoto& c = set_.photos[index_[k]];
      for (size_t m = 0; m < c.markers.size(); ++m)
        for (size_t corner = 0; corner < 4; ++corner)
          if (c.edges[m].sigma_px[corner] > 0)
            out.push_back({static_cast<int>(k), 4 * c.markers[m].marker + static_cast<int>(corner),
                           c.edges[m].corners_px[corner], c.edges[m].sigma_px[corner], true});
    }
    return out;
  }

  double focalGuess_px() const {
    std::vector<double> focals;
    for (size_t i : index_) {
      const Photo& p = set_.photos[i].photo;
      if (p.focal_35mm_mm) focals.push_back(focalPixels(*p.focal_35mm_mm, p.bgr.cols, p.bgr.rows));
    }
    return focals.empty() ? 0 : medianOf(focals);
  }

  /// Adjusts the photos that are left, from the last bundle where there is one.
  void adjust(bool uncertainty) {
    const std::vector<size_t> before = std::move(index_);
    index_.clear();
    for (size_t i = 0; i < set_.photos.size(); ++i)
      if (set_.used(i)) index_.push_back(i);
    BundleOptions options;
    options.focal_guess_px = focalGuess_px();
    options.uncertainty = uncertainty;
    if (bundle_) {
      options.start = bundle_;
      options.start->T_camera_A.clear();
      options.start->posed.clear();
      for (size_t k = 0; k < before.size(); ++k)
        if (set_.used(before[k])) {
          options.start->T_camera_A.push_back(bundle_->T_camera_A[k]);
          options.start->posed.push_back(bundle_->posed[k]);
        }
    }
    const cv::Size size = set_.photos[index_.front()].photo.bgr.size();
    sightings_ = sightings();
    bundle_ = adjustMatBundle(layout_, size.width, size.height, static_cast<int>(index_.size()),
                              sightings_, options);
  }

  void refineWithLens() {
    tbb::parallel_for(size_t{0}, index_.size(), [&](size_t k) {
      if (!set_.used(index_[k]) || !bundle_->posed[k]) return;
      refindMat(set_.photos[index_[k]], mat_, {bundle_->camera, bundle_->T_camera_A[k]},
                bundle_->corners_A_mm);
    });
  }

  /// Refuses photos taken through another lens than most. @return any refused.
  bool refuseZoomed() {
    const std::vector<PhotoFocal> focals = focalOfEachPhoto(*bundle_, sightings_);
    const std::vector<bool> zoomed = zoomedPhotos(focals);
    std::vector<double> usual;
    for (size_t k = 0; k < index_.size(); ++k)
      if (!zoomed[k] && focals[k].sigma > 0) usual.push_back(focals[k].ratio);
    for (size_t k = 0; k < index_.size(); ++k)
      if (zoomed[k])
        set_.refuse(index_[k], PhotoReport::DISAGREES,
                    set_.reports[index_[k]].photo() + " was taken with " +
                        twoDecimals(focals[k].ratio / medianOf(usual)) +
                        " times the focal length of the others; use one camera and leave the zoom "
                        "alone.");
    return std::count(zoomed.begin(), zoomed.end(), true) > 0;
  }

  /// Refuses photos whose corners do not fit where the others put the mat. @return any refused.
  bool refuseDisagreeing() {
    const auto residuals = bundleResiduals_px(*bundle_, sightings_);
    std::vector<std::vector<double>> by_photo(index_.size());
    std::vector<double> all;
    for (size_t s = 0; s < residuals.size(); ++s) {
      by_photo[static_cast<size_t>(sightings_[s].photo)].push_back(residuals[s]);
      if (sightings_[s].used) all.push_back(residuals[s]);
    }
    if (all.empty()) return false;
    const double usual = medianOf(all);
    bool any = false;
    for (size_t k = 0; k < index_.size(); ++k) {
      if (by_photo[k].size() >= 8 && medianOf(by_photo[k]) <= std::max(0.8, 4 * usual)) continue;
      any = true;
      set_.refuse(index_[k], PhotoReport::DISAGREES,
                  set_.reports[index_[k]].photo() +
                      (by_photo[k].size() < 8
                           ? " shows too few clear marker corners to place it."
                           : " does not fit the other photos: the mat's corners lie " +
                                 rounded(medianOf(by_photo[k])) + " px off where the others have " +
                                 rounded(usual) + "; was it zoomed, or the mat moved or bent?"));
    }
    return any;
  }

  PhotoSet& set_;
  const Mat& mat_;
  const std::vector<Eigen::Vector2d>& layout_;
  int needed_;
  const std::function<void()>& step_;
  std::vector<size_t> index_;  ///< Photo of each pose.
  std::vector<CornerSighting> sightings_;
  std::optional<MatBundle> bundle_;  ///< The last one; a pose for each of index_.
};

}  // namespace

AdjustedPhotos adjustPhotos(PhotoSet& photos, const Mat& mat,
                            const std::vector<Eigen::Vector2d>& layout_mm, int needed,
                            const std::function<void()>& step) {
  return Adjustment(photos, mat, layout_mm, needed, step).run();
}

void requireLayout(const MatBundle& bundle, const std::vector<Eigen::Vector2d>& layout_mm) {
  double sum = 0;
  int n = 0;
  for (size_t c = 0; c < layout_mm.size(); ++c)
    if (bundle.seen[c] >= 3)
      sum += (bundle.corners_A_mm[c].head<2>() - layout_mm[c]).squaredNorm(), ++n;
  const double rms = n ? std::sqrt(sum / n) : 0, side = (layout_mm[1] - layout_mm[0]).norm();
  if (rms > 0.04 * side)
    throw BadInput("The printed markers lie " + rounded(rms) +
                   " mm off where the mat file puts them, so it is not the file of this mat: "
                   "pass the .json that came with the PDF that was printed.");
}

}  // namespace holdshelf
