// SPDX-License-Identifier: Apache-2.0
#include "capture/mat_bundle.h"

#include <ceres/ceres.h>

#include <algorithm>
#include <array>
#include <limits>
#include <optional>

#include "capture/bundle_costs.h"
#include "capture/focal_scan.h"

namespace holdshelf {
namespace {

struct SolverState {
  CameraArray camera{};
  std::vector<Eigen::Quaterniond> rotations;
  std::vector<Eigen::Vector3d> translations;
  std::vector<Eigen::Vector3d> corners;
};

class Solver {
 public:
  Solver(const std::vector<Eigen::Vector2d>& layout, SolverState& state, const CameraModel& start,
         double focal_guess_px)
      : layout_(layout), state_(state), start_(start), guess_(focal_guess_px) {}

  /// Which parameters move: the camera's, and whether the mat may bend.
  struct Stage {
    std::vector<int> fixed_camera;
    bool bend = false;
    int iterations = 50;
    bool final = false;  ///< The focal length's uncertainty is wanted.
  };

  bool solve(const std::vector<CornerSighting>& sightings, const std::vector<bool>& posed,
             double sigma_floor_px, const Stage& stage) {
    ceres::Problem problem;
    build(problem, sightings, posed, sigma_floor_px, stage);
    ceres::Solver::Options options;
    options.linear_solver_type = ceres::DENSE_SCHUR;
    options.max_num_iterations = stage.iterations;
    options.function_tolerance = 1e-10;
    options.parameter_tolerance = 1e-10;
    options.num_threads = 2;
    options.logging_type = ceres::SILENT;
    ceres::Solver::Summary summary;
    ceres::Solve(options, &problem, &summary);
    if (stage.final) focal_sigma_px_ = focalSigma(problem);
    return summary.IsSolutionUsable() && summary.termination_type == ceres::CONVERGENCE;
  }

  double focalSigma_px() const { return focal_sigma_px_; }

 private:
  void build(ceres::Problem& problem, const std::vector<CornerSighting>& sightings,
             const std::vector<bool>& posed, double sigma_floor_px, const Stage& stage) {
    for (const auto& s : sightings) {
      const auto p = static_cast<size_t>(s.photo);
      if (!s.used || !posed[p]) continue;
      const double sigma = std::hypot(sigma_floor_px, s.sigma_px);
      problem.AddResidualBlock(reprojectionCost(s.px, sigma), new ceres::CauchyLoss(3.0),
                               state_.camera.data(), state_.rotations[p].coeffs().data(),
                               state_.translations[p].data(),
                               state_.corners[static_cast<size_t>(s.corner)].data());
    }
    const bool guessed = guess_ > 0;
    problem.AddResidualBlock(cameraCost(start_.width_px, start_.height_px,
                                        guessed ? guess_ : start_.fx_px, guessed ? 0.1 : 0.5),
                             nullptr, state_.camera.data());
    for (size_t p = 0; p < state_.rotations.size(); ++p)
      if (problem.HasParameterBlock(state_.rotations[p].coeffs().data()))
        problem.SetManifold(state_.rotations[p].coeffs().data(),
                            new ceres::EigenQuaternionManifold);
    if (!stage.fixed_camera.empty())
      problem.SetManifold(state_.camera.data(),
                          new ceres::SubsetManifold(kCameraParameters, stage.fixed_camera));
    if (stage.bend)
      addBendPriors(problem);
    else
      for (auto& X : state_.corners)
        if (problem.HasParameterBlock(X.data())) problem.SetParameterBlockConstant(X.data());
  }

  void addBendPriors(ceres::Problem& problem) {
    for (size_t i = 0; i < state_.corners.size(); ++i)
      problem.AddResidualBlock(cornerCost(layout_[i]), nullptr, state_.corners[i].data());
    for (size_t m = 0; m + 3 < state_.corners.size(); m += 4) {
      auto* X = &state_.corners[m];
      problem.AddResidualBlock(twistCost(), nullptr, X[0].data(), X[1].data(), X[2].data(),
                               X[3].data());
      for (size_t other : nearestMarkers(m))
        for (size_t c = 0; c < 4; ++c)
          problem.AddResidualBlock(bendCost(&layout_[m], layout_[other + c]), nullptr, X[0].data(),
                                   X[1].data(), X[2].data(), X[3].data(),
                                   state_.corners[other + c].data());
    }
  }

  /// First corners of the three markers nearest to the one whose first corner is m.
  std::vector<size_t> nearestMarkers(size_t m) const {
    std::vector<std::pair<double, size_t>> by_distance;
    for (size_t o = 0; o + 3 < layout_.size(); o += 4)
      if (o != m)
        by_distance.emplace_back((layout_[o] + layout_[o + 2] - layout_[m] - layout_[m + 2]).norm(),
                                 o);
    std::sort(by_distance.begin(), by_distance.end());
    std::vector<size_t> out;
    for (size_t i = 0; i < std::min<size_t>(3, by_distance.size()); ++i)
      out.push_back(by_distance[i].second);
    return out;
  }

  double focalSigma(ceres::Problem& problem) {
    ceres::Covariance::Options options;
    options.algorithm_type = ceres::SPARSE_QR;
    ceres::Covariance covariance(options);
    const double* block = state_.camera.data();
    const std::vector<std::pair<const double*, const double*>> wanted = {{block, block}};
    if (!covariance.Compute(wanted, &problem)) return 0;
    std::array<double, kCameraParameters * kCameraParameters> c{};
    covariance.GetCovarianceBlock(block, block, c.data());
    return std::sqrt(std::max(0.0, c[0]));
  }

  const std::vector<Eigen::Vector2d>& layout_;
  SolverState& state_;
  const CameraModel& start_;
  double guess_;
  double focal_sigma_px_ = 0;
};

MatBundle toBundle(const SolverState& state, const CameraModel& start,
                   const std::vector<bool>& posed) {
  MatBundle bundle;
  bundle.camera = start;
  fromArray(state.camera, bundle.camera);
  bundle.posed = posed;
  bundle.corners_A_mm = state.corners;
  for (size_t p = 0; p < posed.size(); ++p) {
    Eigen::Isometry3d pose = Eigen::Isometry3d::Identity();
    pose.linear() = state.rotations[p].normalized().toRotationMatrix();
    pose.translation() = state.translations[p];
    bundle.T_camera_A.push_back(pose);
  }
  return bundle;
}

/// Clears sightings far from where the bundle puts them. @return how many changed.
int dropOutliers(const MatBundle& bundle, double minimum_px,
                 std::vector<CornerSighting>& sightings) {
  const std::vector<double> residuals = bundleResiduals_px(bundle, sightings);
  std::vector<double> sorted;
  for (size_t i = 0; i < residuals.size(); ++i)
    if (sightings[i].used && std::isfinite(residuals[i])) sorted.push_back(residuals[i]);
  if (sorted.empty()) return 0;
  const auto mid = sorted.begin() + static_cast<long>(sorted.size() / 2);
  std::nth_element(sorted.begin(), mid, sorted.end());
  // The median length of a 2D Gaussian residual is 1.1774 sigma; 4.5 sigma is one in 25 000.
  const double limit = std::max(minimum_px, 4.5 * *mid / 1.1774);
  int changed = 0;
  for (size_t i = 0; i < residuals.size(); ++i) {
    const bool keep = residuals[i] <= limit;
    changed += keep != sightings[i].used;
    sightings[i].used = keep;
  }
  return changed;
}

void finishRms(MatBundle& bundle, const std::vector<CornerSighting>& sightings) {
  const auto residuals = bundleResiduals_px(bundle, sightings);
  double sum = 0;
  int n = 0;
  bundle.seen.assign(bundle.corners_A_mm.size(), 0);
  for (size_t i = 0; i < residuals.size(); ++i) {
    if (!sightings[i].used || !std::isfinite(residuals[i])) continue;
    sum += residuals[i] * residuals[i], ++n;
    ++bundle.seen[static_cast<size_t>(sightings[i].corner)];
  }
  bundle.rms_px = n ? std::sqrt(sum / n) : 0;
}

/// Brings the adjusted corners onto the nominal layout by the best similarity over those that were
/// measured (three photos or more); poses follow.
void fixGauge(MatBundle& bundle, const std::vector<Eigen::Vector2d>& layout) {
  std::vector<size_t> measured;
  for (size_t i = 0; i < layout.size(); ++i)
    if (bundle.seen[i] >= 3) measured.push_back(i);
  if (measured.size() < 4) return;
  const auto n = static_cast<Eigen::Index>(measured.size());
  Eigen::Matrix3Xd from(3, n), to(3, n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const size_t c = measured[static_cast<size_t>(i)];
    from.col(i) = bundle.corners_A_mm[c];
    to.col(i) << layout[c], 0;
  }
  const Eigen::Matrix4d S = Eigen::umeyama(from, to, true);
  const double scale = S.topLeftCorner<3, 3>().col(0).norm();
  const Eigen::Matrix3d R = S.topLeftCorner<3, 3>() / scale;
  const Eigen::Vector3d t = S.topRightCorner<3, 1>();
  const Eigen::Matrix3Xd left = ((scale * R * from).colwise() + t) - to;
  const double radius2 = (to.colwise() - to.rowwise().mean()).squaredNorm();
  bundle.scale_sigma_rel = std::sqrt(left.topRows<2>().squaredNorm() / 2 / radius2);
  for (auto& X : bundle.corners_A_mm) X = scale * R * X + t;
  for (auto& pose : bundle.T_camera_A) {
    // x_camera = P x_old + p; with x_new = s R x_old + t and the camera frame scaled by s.
    const Eigen::Matrix3d P = pose.linear() * R.transpose();
    pose.translation() = scale * pose.translation() - P * t;
    pose.linear() = P;
  }
}

/// The solver's state as an earlier bundle left it.
CameraModel takeStart(const MatBundle& earlier, SolverState& state, std::vector<bool>& posed) {
  state.camera = toArray(earlier.camera);
  for (const auto& pose : earlier.T_camera_A) {
    state.rotations.emplace_back(pose.linear());
    state.translations.push_back(pose.translation());
  }
  state.corners = earlier.corners_A_mm;
  posed = earlier.posed;
  return earlier.camera;
}

/// The solver's state from nothing: focal length by the scan, poses from a flat mat.
CameraModel findStart(const std::vector<Eigen::Vector2d>& layout, int width, int height,
                      const SeenByPhoto& seen, double focal_guess_px, SolverState& state,
                      std::vector<bool>& posed) {
  const CameraModel start = scanFocal(layout, width, height, seen, focal_guess_px);
  state.camera = toArray(start);
  for (const auto& corners : seen) {
    const auto pose = planarPose(layout, corners, start, nullptr);
    posed.push_back(pose.has_value());
    state.rotations.emplace_back(pose ? Eigen::Quaterniond(pose->linear())
                                      : Eigen::Quaterniond::Identity());
    state.translations.push_back(pose ? pose->translation() : Eigen::Vector3d(0, 0, 1));
  }
  for (const auto& X : layout) state.corners.emplace_back(X.x(), X.y(), 0);
  return start;
}

}  // namespace

std::vector<double> bundleResiduals_px(const MatBundle& bundle,
                                       const std::vector<CornerSighting>& sightings) {
  std::vector<double> out;
  for (const auto& s : sightings) {
    const auto p = static_cast<size_t>(s.photo);
    double residual = std::numeric_limits<double>::infinity();
    if (bundle.posed[p])
      if (const auto px = bundle.camera.project(bundle.T_camera_A[p] *
                                                bundle.corners_A_mm[static_cast<size_t>(s.corner)]))
        residual = (*px - s.px).norm();
    out.push_back(residual);
  }
  return out;
}

MatBundle adjustMatBundle(const std::vector<Eigen::Vector2d>& layout, int width, int height,
                          int photos, std::vector<CornerSighting>& sightings,
                          const BundleOptions& options) {
  SolverState state;
  std::vector<bool> posed;
  const CameraModel start = options.start
                                ? takeStart(*options.start, state, posed)
                                : findStart(layout, width, height, groupByPhoto(sightings, photos),
                                            options.focal_guess_px, state, posed);
  Solver solver(layout, state, start, options.focal_guess_px);
  if (!options.start)  // First flat and with one distortion term, to come near.
    solver.solve(sightings, posed, 1.0, {{kCx, kCy, kK2, kP1, kP2, kK3}, false, 30});
  dropOutliers(toBundle(state, start, posed), 6 * options.minimum_outlier_px, sightings);
  bool converged = false;
  MatBundle bundle;
  for (int round = 0; round < 4; ++round) {
    converged = solver.solve(sightings, posed, 0.15, {{}, true, 100});
    bundle = toBundle(state, start, posed);
    if (dropOutliers(bundle, options.minimum_outlier_px, sightings) == 0) break;
  }
  if (options.uncertainty) solver.solve(sightings, posed, 0.15, {{}, true, 5, true});
  bundle.converged = converged;
  bundle.focal_sigma_px = solver.focalSigma_px();
  finishRms(bundle, sightings);
  fixGauge(bundle, layout);
  return bundle;
}

}  // namespace holdshelf
