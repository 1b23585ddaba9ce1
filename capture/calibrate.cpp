// SPDX-License-Identifier: Apache-2.0
#include "capture/calibrate.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <optional>

#include "capture/mat_bundle.h"
#include "capture/mat_file.h"
#include "capture/mat_photo.h"
#include "capture/median.h"
#include "capture/paper_size.h"
#include "capture/photo_checks.h"
#include "capture/photo_focal.h"
#include "capture/stage.h"
#include "capture/undistort.h"
#include "capture/wall_plane.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

/// The way from files to a calibrated capture; `run` reads like it.
class Calibration {
 public:
  Calibration(const std::vector<std::filesystem::path>& files, const Mat& mat,
              const CalibrateOptions& options, const Progress& progress)
      : files_(files),
        mat_(mat),
        options_(options),
        progress_(progress),
        needed_(std::max(3, options.minimum_photos)) {}

  CalibratedCapture run() {
    checkMat(mat_, mat_.name().empty() ? "mat" : mat_.name());
    layout_ = matCorners_M_mm(mat_, options_.mat_scale);
    out_.mat_scale = options_.mat_scale;
    readAll();
    refuseDuplicates(set_);
    keepOneSize(set_, mat_);
    requireAnyMarker(set_, mat_);
    refuseWithoutMat(set_, mat_);
    refuseBlurredAndBurnt(set_);
    requireEnough(set_, needed_);
    calibrate();
    requireLayout();
    takeOver();
    undistortAll();
    measurePaper();
    out_.reports = std::move(set_.reports);
    return std::move(out_);
  }

 private:
  void readAll() {
    set_.photos.resize(files_.size());
    set_.reports.resize(files_.size());
    const std::vector<std::string> names = photoNames(files_);
    Stage stage(progress_, "Reading photos, finding the mat", files_.size());
    tbb::parallel_for(size_t{0}, files_.size(), [&](size_t i) {
      MatPhoto& photo = set_.photos[i];
      set_.reports[i].set_photo(names[i]);
      set_.reports[i].set_verdict(PhotoReport::USED);
      try {
        photo.photo = readPhoto(files_[i]);
        photo.photo.name = names[i];
        findMat(photo, mat_);
        set_.reports[i].set_markers_found(static_cast<int>(photo.markers.size()));
      } catch (const BadInput& bad) {
        set_.refuse(i, PhotoReport::UNREADABLE, bad.what());
      }
      stage.step();
    });
    stage.end(out_.times);
  }

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

  void calibrate() {
    Stage stage(progress_, "Calibrating the camera", 3);
    adjust(false);
    if (refuseZoomed()) {
      requireEnough(set_, needed_);
      bundle_.reset();  // Nothing that two lenses agreed on is a start for one.
      adjust(false);
    }
    if (refuseDisagreeing()) requireEnough(set_, needed_);
    stage.step();
    // Once more with what is known now: the lens, and where half hidden markers must be.
    refineWithLens();
    adjust(true);
    stage.step();
    if (refuseDisagreeing()) {
      requireEnough(set_, needed_);
      adjust(true);
    }
    stage.step();
    stage.end(out_.times);
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
    for (size_t i = 0; i < files_.size(); ++i)
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

  /// @throws BadInput  The markers lie otherwise than the mat file says.
  void requireLayout() const {
    double sum = 0;
    int n = 0;
    for (size_t c = 0; c < layout_.size(); ++c)
      if (bundle_->seen[c] >= 3)
        sum += (bundle_->corners_A_mm[c].head<2>() - layout_[c]).squaredNorm(), ++n;
    const double rms = n ? std::sqrt(sum / n) : 0, side = (layout_[1] - layout_[0]).norm();
    // Paper shrinks unevenly by 0.2 mm, curls by a little more; judgement, no source.
    if (rms > 0.04 * side)
      throw BadInput("The printed markers lie " + rounded(rms) +
                     " mm off where the mat file puts them, so it is not the file of this mat: "
                     "pass the .json that came with the PDF that was printed.");
  }

  void warnOfHiddenMat() {
    const MatInView& view = out_.mat_in_view;
    const auto number = [](double v) { return std::to_string(std::lround(v)); };
    if (view.covered())
      out_.warnings.push_back(
          "On one side of the mat, over " + number(view.gap_deg) +
          " degrees, no marker is ever seen: clear the mat of what lies on it and put the hold in "
          "its middle; scale and wall plane lean to the other side here.");
    else if (view.scarce())
      out_.warnings.push_back("Only " + number(100 * view.share) +
                              " % of the mat's markers are ever seen: use a larger mat; scale and "
                              "wall plane rest on few markers here.");
  }

  void takeOver() {
    const MatBundle& bundle = *bundle_;
    const WallPlane wall = fitWallPlane(bundle.corners_A_mm, layout_, bundle.seen);
    out_.T_hold_mat = wall.T_wall_mat;
    out_.lens = bundle.camera;
    out_.orientation = set_.photos[index_.front()].photo.orientation;
    out_.rms_px = bundle.rms_px;
    out_.focal_sigma_px = bundle.focal_sigma_px;
    out_.scale_sigma_rel = bundle.scale_sigma_rel;
    out_.plane_sigma_mm = wall.sigma_mm;
    for (size_t c = 0; c < bundle.corners_A_mm.size(); ++c) {
      out_.mat_points_H_mm.emplace_back(wall.T_wall_mat * bundle.corners_A_mm[c]);
      if (bundle.seen[c] < 3) continue;  // Guesswork from its neighbours.
      out_.mat_bend_mm = std::max(out_.mat_bend_mm, std::abs(out_.mat_points_H_mm.back().z()));
    }
    const auto residuals = bundleResiduals_px(bundle, sightings_);
    for (size_t k = 0; k < index_.size(); ++k) {
      poses_.push_back(bundle.T_camera_A[k] * wall.T_wall_mat.inverse());
      const Eigen::Vector3d eye = poses_.back().inverse().translation();
      PhotoReport& r = set_.reports[index_[k]];
      r.set_azimuth_deg(azimuth_deg(eye));
      r.set_elevation_deg(elevation_deg(eye));
      double sum = 0;
      int n = 0;
      for (size_t s = 0; s < residuals.size(); ++s)
        if (sightings_[s].photo == static_cast<int>(k) && sightings_[s].used)
          sum += residuals[s] * residuals[s], ++n;
      r.set_reprojection_rms_px(n ? std::sqrt(sum / n) : 0);
    }
    warnOfBurntPaper();
    out_.mat_in_view = matInView(layout_, bundle.seen);
    warnOfHiddenMat();
    if (!bundle.converged)
      out_.warnings.emplace_back(
          "The calibration did not settle fully; more photos from more sides would help.");
  }

  /// Paper at the top of the range is no harm in itself, but what is lit like it has no shape.
  void warnOfBurntPaper() {
    size_t burnt = 0;
    for (size_t i : index_) burnt += set_.photos[i].clipped > 0.2;
    if (2 * burnt < index_.size()) return;
    out_.warnings.push_back("The paper is burnt out to pure white in " + std::to_string(burnt) +
                            " of the " + std::to_string(index_.size()) +
                            " photos used; lower the exposure by a step, for burnt-out parts of "
                            "the hold have no shape.");
  }

  void undistortAll() {
    Stage stage(progress_, "Undistorting", index_.size());
    out_.views.resize(index_.size());
    const Undistorter undistorter(out_.lens);
    tbb::parallel_for(size_t{0}, index_.size(), [&](size_t k) {
      MatPhoto& c = set_.photos[index_[k]];
      out_.views[k] = undistorter.view(c.photo.name, c.photo.bgr, poses_[k]);
      c.photo.bgr.release();
      stage.step();
    });
    stage.end(out_.times);
  }

  void measurePaper() {
    Stage stage(progress_, "Measuring the sheet", 1);
    out_.paper = checkPaper(out_.views, mat_, out_.mat_points_H_mm, options_.mat_scale);
    if (!out_.paper.message().empty()) out_.warnings.push_back(out_.paper.message());
    stage.end(out_.times);
  }

  const std::vector<std::filesystem::path>& files_;
  const Mat& mat_;
  const CalibrateOptions& options_;
  const Progress& progress_;
  int needed_;
  std::vector<Eigen::Vector2d> layout_;
  PhotoSet set_;
  std::vector<size_t> index_;  ///< Photo of each pose.
  std::vector<CornerSighting> sightings_;
  std::optional<MatBundle> bundle_;  ///< The last one; a pose for each of index_.
  std::vector<Eigen::Isometry3d> poses_;
  CalibratedCapture out_;
};

}  // namespace

CalibratedCapture calibrateCapture(const std::vector<std::filesystem::path>& photos, const Mat& mat,
                                   const CalibrateOptions& options, const Progress& progress) {
  return Calibration(photos, mat, options, progress).run();
}

}  // namespace holdshelf
