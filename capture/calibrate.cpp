// SPDX-License-Identifier: Apache-2.0
#include "capture/calibrate.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "capture/mat_file.h"
#include "capture/mat_photo.h"
#include "capture/paper_size.h"
#include "capture/photo_adjustment.h"
#include "capture/photo_checks.h"
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
    requireLayout(adjusted_.bundle, layout_);
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

  void calibrate() {
    Stage stage(progress_, "Calibrating the camera", 3);
    adjusted_ = adjustPhotos(set_, mat_, layout_, needed_, [&] { stage.step(); });
    stage.end(out_.times);
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
    const MatBundle& bundle = adjusted_.bundle;
    const WallPlane wall = fitWallPlane(bundle.corners_A_mm, layout_, bundle.seen);
    out_.T_hold_mat = wall.T_wall_mat;
    out_.lens = bundle.camera;
    out_.orientation = set_.photos[adjusted_.index.front()].photo.orientation;
    out_.rms_px = bundle.rms_px;
    out_.focal_sigma_px = bundle.focal_sigma_px;
    out_.scale_sigma_rel = bundle.scale_sigma_rel;
    out_.plane_sigma_mm = wall.sigma_mm;
    for (size_t c = 0; c < bundle.corners_A_mm.size(); ++c) {
      out_.mat_points_H_mm.emplace_back(wall.T_wall_mat * bundle.corners_A_mm[c]);
      if (bundle.seen[c] < 3) continue;  // Guesswork from its neighbours.
      out_.mat_bend_mm = std::max(out_.mat_bend_mm, std::abs(out_.mat_points_H_mm.back().z()));
    }
    takePoses(wall);
    warnOfBurntPaper();
    out_.mat_in_view = matInView(layout_, bundle.seen);
    warnOfHiddenMat();
    if (!bundle.converged)
      out_.warnings.emplace_back(
          "The calibration did not settle fully; more photos from more sides would help.");
  }

  /// Poses in frame H0, and what the reports say of them.
  void takePoses(const WallPlane& wall) {
    const MatBundle& bundle = adjusted_.bundle;
    const auto residuals = bundleResiduals_px(bundle, adjusted_.sightings);
    for (size_t k = 0; k < adjusted_.index.size(); ++k) {
      poses_.push_back(bundle.T_camera_A[k] * wall.T_wall_mat.inverse());
      const Eigen::Vector3d eye = poses_.back().inverse().translation();
      PhotoReport& r = set_.reports[adjusted_.index[k]];
      r.set_azimuth_deg(azimuth_deg(eye));
      r.set_elevation_deg(elevation_deg(eye));
      double sum = 0;
      int n = 0;
      for (size_t s = 0; s < residuals.size(); ++s)
        if (adjusted_.sightings[s].photo == static_cast<int>(k) && adjusted_.sightings[s].used)
          sum += residuals[s] * residuals[s], ++n;
      r.set_reprojection_rms_px(n ? std::sqrt(sum / n) : 0);
    }
  }

  /// Paper at the top of the range is no harm in itself, but what is lit like it has no shape.
  void warnOfBurntPaper() {
    size_t burnt = 0;
    for (size_t i : adjusted_.index) burnt += set_.photos[i].clipped > 0.2;
    if (2 * burnt < adjusted_.index.size()) return;
    out_.warnings.push_back("The paper is burnt out to pure white in " + std::to_string(burnt) +
                            " of the " + std::to_string(adjusted_.index.size()) +
                            " photos used; lower the exposure by a step, for burnt-out parts of "
                            "the hold have no shape.");
  }

  void undistortAll() {
    Stage stage(progress_, "Undistorting", adjusted_.index.size());
    out_.views.resize(adjusted_.index.size());
    const Undistorter undistorter(out_.lens);
    tbb::parallel_for(size_t{0}, adjusted_.index.size(), [&](size_t k) {
      MatPhoto& c = set_.photos[adjusted_.index[k]];
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
  AdjustedPhotos adjusted_;
  std::vector<Eigen::Isometry3d> poses_;
  CalibratedCapture out_;
};

}  // namespace

CalibratedCapture calibrateCapture(const std::vector<std::filesystem::path>& photos, const Mat& mat,
                                   const CalibrateOptions& options, const Progress& progress) {
  return Calibration(photos, mat, options, progress).run();
}

}  // namespace holdshelf
