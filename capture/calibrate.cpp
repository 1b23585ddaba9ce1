// SPDX-License-Identifier: Apache-2.0
#include "capture/calibrate.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <map>
#include <opencv2/aruco/dictionary.hpp>
#include <opencv2/imgproc.hpp>
#include <optional>

#include "capture/edge_line.h"
#include "capture/marker_detection.h"
#include "capture/marker_edges.h"
#include "capture/mat_bundle.h"
#include "capture/mat_file.h"
#include "capture/paper_size.h"
#include "capture/photo.h"
#include "capture/stage.h"
#include "capture/undistort.h"
#include "capture/wall_plane.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

/// What the front end knows of one photo on its way.
struct Candidate {
  Photo photo;
  std::vector<MarkerSighting> markers;
  std::vector<MarkerEdges> edges;  ///< One a marker.
  double clipped = 0;              ///< Share of the mat's area at the top of the range.
};

class Calibration {
 public:
  Calibration(const std::vector<std::filesystem::path>& files, const Mat& mat,
              const CalibrateOptions& options, const Progress& progress)
      : files_(files), mat_(mat), options_(options), progress_(progress) {}

  CalibratedCapture run() {
    checkMat(mat_, mat_.name().empty() ? "mat" : mat_.name());
    layout_ = matCorners_M_mm(mat_, options_.mat_scale);
    cells_ =
        cv::aruco::getPredefinedDictionary(dictionaryNumber(mat_.dictionary()))->markerSize + 2;
    out_.mat_scale = options_.mat_scale;
    readAll();
    refuseDuplicates();
    keepOneSize();
    judgeMarkers();
    requireEnough();
    calibrate();
    undistortAll();
    measurePaper();
    return std::move(out_);
  }

 private:
  PhotoReport& report(size_t i) { return out_.reports[i]; }
  bool alive(size_t i) const { return out_.reports[i].verdict() == PhotoReport::USED; }

  void refuse(size_t i, PhotoReport::Verdict verdict, const std::string& reason) {
    report(i).set_verdict(verdict);
    report(i).set_reason(reason);
    candidates_[i].photo.bgr.release();
  }

  void readAll() {
    candidates_.resize(files_.size());
    out_.reports.resize(files_.size());
    Stage stage(progress_, "Reading photos, finding the mat", files_.size());
    tbb::parallel_for(size_t{0}, files_.size(), [&](size_t i) {
      report(i).set_photo(files_[i].filename().string());
      report(i).set_verdict(PhotoReport::USED);
      try {
        candidates_[i].photo = readPhoto(files_[i]);
        findMarkers(candidates_[i]);
        report(i).set_markers_found(static_cast<int>(candidates_[i].markers.size()));
      } catch (const BadInput& bad) {
        refuse(i, PhotoReport::UNREADABLE, bad.what());
      }
      stage.step();
    });
    stage.end(out_.times);
  }

  void findMarkers(Candidate& c) const {
    cv::Mat grey;
    cv::cvtColor(c.photo.bgr, grey, cv::COLOR_BGR2GRAY);
    c.markers = detectMarkers(grey, mat_);
    const cv::Mat linear = linearLight(c.photo.bgr);
    for (const auto& m : c.markers)
      c.edges.push_back(refineMarker(linear, m.corners_px, cells_, nullptr));
    c.clipped = clippedShare(grey, c.markers);
  }

  /// Share of pixels at 254 or 255 within the hull of the markers.
  static double clippedShare(const cv::Mat& grey, const std::vector<MarkerSighting>& markers) {
    std::vector<cv::Point> corners, hull;
    for (const auto& m : markers)
      for (const auto& p : m.corners_px) corners.emplace_back(cvRound(p.x()), cvRound(p.y()));
    if (corners.empty()) return 0;
    cv::convexHull(corners, hull);
    cv::Mat inside = cv::Mat::zeros(grey.size(), CV_8UC1);
    cv::fillConvexPoly(inside, hull, 255);
    const double area = cv::countNonZero(inside);
    return area > 0 ? cv::countNonZero((grey >= 254) & inside) / area : 0;
  }

  void refuseDuplicates() {
    std::map<std::uint64_t, size_t> seen;
    for (size_t i = 0; i < files_.size(); ++i) {
      if (!alive(i)) continue;
      const auto [first, fresh] = seen.emplace(candidates_[i].photo.pixel_hash, i);
      if (!fresh)
        refuse(
            i, PhotoReport::DUPLICATE,
            report(i).photo() + " is the same picture as " + report(first->second).photo() + ".");
    }
  }

  /// Photos of one sensor share one raster however the phone was held; other sizes are refused.
  void keepOneSize() {
    std::map<std::pair<int, int>, std::map<Orientation, int>> sizes;
    const auto storedSize = [](const Photo& p) {
      const bool quarter = p.orientation >= 5;
      return quarter ? std::pair(p.bgr.rows, p.bgr.cols) : std::pair(p.bgr.cols, p.bgr.rows);
    };
    for (size_t i = 0; i < files_.size(); ++i)
      if (alive(i)) ++sizes[storedSize(candidates_[i].photo)][candidates_[i].photo.orientation];
    if (sizes.empty()) return;
    const auto total = [](const auto& orientations) {
      int sum = 0;
      for (const auto& [orientation, n] : orientations) sum += n;
      return sum;
    };
    const auto& [size, orientations] = *std::max_element(
        sizes.begin(), sizes.end(),
        [&](const auto& a, const auto& b) { return total(a.second) < total(b.second); });
    const Orientation common =
        std::max_element(orientations.begin(), orientations.end(),
                         [](const auto& a, const auto& b) { return a.second < b.second; })
            ->first;
    for (size_t i = 0; i < files_.size(); ++i) {
      if (!alive(i)) continue;
      Candidate& c = candidates_[i];
      if (storedSize(c.photo) != size) {
        refuse(i, PhotoReport::DISAGREES,
               report(i).photo() + " is " + std::to_string(c.photo.bgr.cols) + " x " +
                   std::to_string(c.photo.bgr.rows) +
                   " pixels, unlike most of the photos; use one camera and one size.");
      } else if (c.photo.orientation != common) {
        c.photo.bgr = reorient(c.photo.bgr, c.photo.orientation, common);
        c.photo.orientation = common;
        c.markers.clear();
        c.edges.clear();
        findMarkers(c);
      }
    }
  }

  int neededMarkers() const { return std::min(4, mat_.markers_size()); }

  void judgeMarkers() {
    std::vector<double> blurs;
    for (size_t i = 0; i < files_.size(); ++i) {
      if (!alive(i)) continue;
      const int found = report(i).markers_found();
      if (found < neededMarkers()) {
        refuse(i, PhotoReport::MAT_NOT_FOUND,
               report(i).photo() + " shows " + std::to_string(found) + " of the mat's " +
                   std::to_string(mat_.markers_size()) + " markers, at least " +
                   std::to_string(neededMarkers()) +
                   " are needed; keep more of the mat in view and in focus.");
        continue;
      }
      const double blur = blurOf(candidates_[i]);
      report(i).set_sharpness(kEdgeWidth * blur);
      blurs.push_back(blur);
    }
    if (blurs.empty()) return;
    std::nth_element(blurs.begin(), blurs.begin() + static_cast<long>(blurs.size() / 2),
                     blurs.end());
    judgeSharpness(blurs[blurs.size() / 2]);
  }

  /// 10 to 90 % width of an edge blurred by a Gaussian of sigma 1.
  static constexpr double kEdgeWidth = 2.5631;

  /// Upper quartile over the markers, so that blur at one side of the photo counts.
  static double blurOf(const Candidate& c) {
    std::vector<double> blurs;
    for (const auto& e : c.edges)
      if (e.blur_px > 0) blurs.push_back(e.blur_px);
    if (blurs.empty()) return 8;
    const auto at = blurs.begin() + static_cast<long>(3 * blurs.size() / 4);
    std::nth_element(blurs.begin(), at, blurs.end());
    return *at;
  }

  void judgeSharpness(double usual_blur) {
    for (size_t i = 0; i < files_.size(); ++i) {
      if (!alive(i)) continue;
      const double width = report(i).sharpness(), usual = kEdgeWidth * usual_blur;
      if (width > std::max(4.5, 2 * usual) || width > 12) {
        refuse(i, PhotoReport::BLURRED,
               report(i).photo() + " is blurred: edges are " + rounded(width) +
                   " px wide where most photos have " + rounded(usual) +
                   "; hold still or give more light.");
      } else if (candidates_[i].clipped > 0.6) {
        refuse(i, PhotoReport::OVEREXPOSED,
               report(i).photo() + " is over-exposed: " +
                   std::to_string(static_cast<int>(100 * candidates_[i].clipped)) +
                   " % of the mat is pure white; lower the exposure.");
      }
    }
  }

  static std::string rounded(double value) {
    char text[32];
    std::snprintf(text, sizeof text, "%.1f", value);
    return text;
  }

  size_t countAlive() const {
    size_t n = 0;
    for (size_t i = 0; i < files_.size(); ++i) n += alive(i);
    return n;
  }

  void requireEnough() const {
    if (countAlive() >= static_cast<size_t>(options_.minimum_photos)) return;
    std::string sentence = std::to_string(countAlive()) + " of the " +
                           std::to_string(files_.size()) + " photos can be used and at least " +
                           std::to_string(options_.minimum_photos) +
                           " are needed; shoot 24 to 36 all round, from low, middle and high.";
    // One refused photo's reason helps more than a count.
    for (const auto& r : out_.reports)
      if (r.verdict() != PhotoReport::USED) {
        sentence += " For instance: " + r.reason();
        break;
      }
    throw BadInput(sentence);
  }

  std::vector<CornerSighting> sightings() const {
    std::vector<CornerSighting> out;
    for (size_t k = 0; k < index_.size(); ++k) {
      const Candidate& c = candidates_[index_[k]];
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
    if (refuseDisagreeing()) requireEnough();
    stage.step();
    // Once more with what is known now: the lens, and where half hidden markers must be.
    refineWithLens();
    adjust(true);
    stage.step();
    if (refuseDisagreeing()) {
      requireEnough();
      adjust(true);
    }
    stage.step();
    takeOver();
    stage.end(out_.times);
  }

  double focalGuess_px() const {
    std::vector<double> focals;
    for (size_t i : index_) {
      const Photo& p = candidates_[i].photo;
      if (p.focal_35mm_mm) focals.push_back(focalPixels(*p.focal_35mm_mm, p.bgr.cols, p.bgr.rows));
    }
    return focals.empty() ? 0 : median(focals);
  }

  /// Adjusts the photos that are left, from the last bundle where there is one.
  void adjust(bool uncertainty) {
    const std::vector<size_t> before = std::move(index_);
    index_.clear();
    for (size_t i = 0; i < files_.size(); ++i)
      if (alive(i)) index_.push_back(i);
    BundleOptions options;
    options.focal_guess_px = focalGuess_px();
    options.uncertainty = uncertainty;
    if (bundle_) {
      options.start = bundle_;
      options.start->T_camera_A.clear();
      options.start->posed.clear();
      for (size_t k = 0; k < before.size(); ++k)
        if (alive(before[k])) {
          options.start->T_camera_A.push_back(bundle_->T_camera_A[k]);
          options.start->posed.push_back(bundle_->posed[k]);
        }
    }
    const cv::Size size = candidates_[index_.front()].photo.bgr.size();
    sightings_ = sightings();
    bundle_ = adjustMatBundle(layout_, size.width, size.height, static_cast<int>(index_.size()),
                              sightings_, options);
  }

  /// Fits the sides again where the bundle expects them, straight now that the lens is known: also
  /// those of markers that the detector did not find because the hold or the frame cuts them.
  void refineWithLens() {
    tbb::parallel_for(size_t{0}, index_.size(), [&](size_t k) {
      if (!alive(index_[k]) || !bundle_->posed[k]) return;
      Candidate& c = candidates_[index_[k]];
      const cv::Mat linear = linearLight(c.photo.bgr);
      c.markers = expectedMarkers(bundle_->camera, bundle_->T_camera_A[k], bundle_->corners_A_mm);
      c.edges.clear();
      for (const auto& m : c.markers)
        c.edges.push_back(refineMarker(linear, m.corners_px, cells_, &bundle_->camera));
    });
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
    const double usual = median(all);
    bool any = false;
    for (size_t k = 0; k < index_.size(); ++k) {
      if (by_photo[k].size() >= 8 && median(by_photo[k]) <= std::max(0.8, 4 * usual)) continue;
      any = true;
      refuse(index_[k], PhotoReport::DISAGREES,
             report(index_[k]).photo() +
                 (by_photo[k].size() < 8
                      ? " shows too few clear marker corners to place it."
                      : " does not fit the other photos: the mat's corners lie " +
                            rounded(median(by_photo[k])) + " px off where the others have " +
                            rounded(usual) + "; was it zoomed, or the mat moved or bent?"));
    }
    return any;
  }

  static double median(std::vector<double> v) {
    const auto mid = v.begin() + static_cast<long>(v.size() / 2);
    std::nth_element(v.begin(), mid, v.end());
    return *mid;
  }

  void takeOver() {
    const MatBundle& bundle = *bundle_;
    const WallPlane wall = fitWallPlane(bundle.corners_A_mm, layout_, bundle.seen);
    out_.T_hold_mat = wall.T_wall_mat;
    out_.lens = bundle.camera;
    out_.rms_px = bundle.rms_px;
    out_.focal_sigma_px = bundle.focal_sigma_px;
    out_.scale_sigma_rel = bundle.scale_sigma_rel;
    out_.plane_sigma_mm = wall.sigma_mm;
    for (const auto& X : bundle.corners_A_mm) {
      out_.mat_points_H_mm.emplace_back(wall.T_wall_mat * X);
      out_.mat_bend_mm = std::max(out_.mat_bend_mm, std::abs(out_.mat_points_H_mm.back().z()));
    }
    const auto residuals = bundleResiduals_px(bundle, sightings_);
    for (size_t k = 0; k < index_.size(); ++k) {
      poses_.push_back(bundle.T_camera_A[k] * wall.T_wall_mat.inverse());
      const Eigen::Vector3d eye = poses_.back().inverse().translation();
      PhotoReport& r = report(index_[k]);
      r.set_azimuth_deg(std::atan2(eye.y(), eye.x()) * 180 / M_PI);
      r.set_elevation_deg(std::atan2(eye.z(), eye.head<2>().norm()) * 180 / M_PI);
      double sum = 0;
      int n = 0;
      for (size_t s = 0; s < residuals.size(); ++s)
        if (sightings_[s].photo == static_cast<int>(k) && sightings_[s].used)
          sum += residuals[s] * residuals[s], ++n;
      r.set_reprojection_rms_px(n ? std::sqrt(sum / n) : 0);
    }
    warnOfBurntPaper();
    if (!bundle.converged)
      out_.warnings.emplace_back(
          "The calibration did not settle fully; more photos from more sides would help.");
  }

  /// Paper at the top of the range is no harm in itself, but what is lit like it has no shape.
  void warnOfBurntPaper() {
    size_t burnt = 0;
    for (size_t i : index_) burnt += candidates_[i].clipped > 0.2;
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
      Candidate& c = candidates_[index_[k]];
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
  std::vector<Eigen::Vector2d> layout_;
  int cells_ = 0;
  std::vector<Candidate> candidates_;
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
