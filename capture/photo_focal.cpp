// SPDX-License-Identifier: Apache-2.0
#include "capture/photo_focal.h"

#include <ceres/ceres.h>
#include <tbb/parallel_for.h>

#include <cmath>
#include <opencv2/calib3d.hpp>
#include <optional>

#include "capture/median.h"

namespace holdshelf {
namespace {

/// A corner's reprojection with a factor on the focal length: log factor, quaternion x y z w,
/// translation.
struct ZoomedReprojection {
  CameraModel camera;
  Eigen::Vector3d X_A_mm;
  Eigen::Vector2d px;
  double sigma_px;

  template <typename T>
  bool operator()(const T* log_factor, const T* q, const T* t, T* residual) const {
    const Eigen::Map<const Eigen::Quaternion<T>> rotation(q);
    const Eigen::Map<const Eigen::Matrix<T, 3, 1>> translation(t);
    const Eigen::Matrix<T, 3, 1> p = rotation * X_A_mm.cast<T>() + translation;
    if (p.z() < T(1e-6)) return false;
    const CameraModel& c = camera;
    const T x = p.x() / p.z(), y = p.y() / p.z(), r2 = x * x + y * y;
    const T radial = T(1) + r2 * (T(c.k1) + r2 * (T(c.k2) + r2 * T(c.k3)));
    const T xd = x * radial + T(2 * c.p1) * x * y + T(c.p2) * (r2 + T(2) * x * x);
    const T yd = y * radial + T(c.p1) * (r2 + T(2) * y * y) + T(2 * c.p2) * x * y;
    const T factor = exp(log_factor[0]);
    residual[0] = (T(c.fx_px) * factor * xd + T(c.cx_px - px.x())) / T(sigma_px);
    residual[1] = (T(c.fy_px) * factor * yd + T(c.cy_px - px.y())) / T(sigma_px);
    return true;
  }
};

/// One photo's pose and focal length, in the solver's hands.
struct PhotoFit {
  double log_factor = 0;
  Eigen::Quaterniond q;
  Eigen::Vector3d t;
  double cost = 0;

  void build(const MatBundle& bundle, const std::vector<const CornerSighting*>& seen,
             ceres::Problem& problem) {
    for (const CornerSighting* s : seen)
      problem.AddResidualBlock(
          new ceres::AutoDiffCostFunction<ZoomedReprojection, 2, 1, 4, 3>(
              new ZoomedReprojection{bundle.camera, bundle.corners_A_mm[size_t(s->corner)], s->px,
                                     std::hypot(0.15, s->sigma_px)}),
          new ceres::CauchyLoss(3), &log_factor, q.coeffs().data(), t.data());
    problem.SetManifold(q.coeffs().data(), new ceres::EigenQuaternionManifold);
  }

  bool solve(const MatBundle& bundle, const std::vector<const CornerSighting*>& seen) {
    ceres::Problem problem;
    build(bundle, seen, problem);
    // There is no way on from a corner behind the camera, and the solver would print so.
    double start_cost = 0;
    if (!problem.Evaluate({}, &start_cost, nullptr, nullptr, nullptr)) return false;
    ceres::Solver::Options options;
    options.linear_solver_type = ceres::DENSE_QR;
    options.max_num_iterations = 40;
    options.function_tolerance = 1e-8;
    options.logging_type = ceres::SILENT;
    ceres::Solver::Summary summary;
    ceres::Solve(options, &problem, &summary);
    cost = summary.final_cost;
    return summary.IsSolutionUsable() && std::isfinite(log_factor);
  }
};

/// The photo's pose were its focal length `factor` times the capture's, the mat taken as flat.
std::optional<PhotoFit> startAt(double log_factor, const MatBundle& bundle,
                                const std::vector<const CornerSighting*>& seen) {
  std::vector<cv::Point3d> points;
  std::vector<cv::Point2d> rays;
  for (const CornerSighting* s : seen) {
    const Eigen::Vector3d& X = bundle.corners_A_mm[size_t(s->corner)];
    const Eigen::Vector3d ray = bundle.camera.ray(s->px);
    points.emplace_back(X.x(), X.y(), 0);
    rays.emplace_back(ray.x() / std::exp(log_factor), ray.y() / std::exp(log_factor));
  }
  std::vector<cv::Mat> rvecs, tvecs;
  try {
    if (cv::solvePnPGeneric(points, rays, cv::Mat::eye(3, 3, CV_64F), cv::noArray(), rvecs, tvecs,
                            false, cv::SOLVEPNP_IPPE) < 1)
      return std::nullopt;
  } catch (const cv::Exception&) {
    return std::nullopt;
  }
  const Eigen::Map<Eigen::Vector3d> r(rvecs[0].ptr<double>()), t(tvecs[0].ptr<double>());
  return PhotoFit{log_factor, Eigen::Quaterniond(Eigen::AngleAxisd(r.norm(), r.normalized())), t};
}

/// From several focal lengths, because a pose found with a wrong one is no good start.
PhotoFocal focalOf(const MatBundle& bundle, size_t photo,
                   const std::vector<const CornerSighting*>& seen) {
  if (!bundle.posed[photo] || seen.size() < 10) return {};
  std::optional<PhotoFit> best;
  for (double log_factor : {0.0, 0.3, -0.3, 0.6, -0.6}) {
    std::optional<PhotoFit> fit = startAt(log_factor, bundle, seen);
    if (fit && fit->solve(bundle, seen) && (!best || fit->cost < best->cost)) best = fit;
  }
  if (!best) return {};
  ceres::Problem problem;
  best->build(bundle, seen, problem);
  ceres::Covariance::Options options;
  options.algorithm_type = ceres::DENSE_SVD;
  ceres::Covariance covariance(options);
  const double* factor = &best->log_factor;
  const std::vector<std::pair<const double*, const double*>> wanted = {{factor, factor}};
  double variance = 0;
  if (!covariance.Compute(wanted, &problem)) return {};
  covariance.GetCovarianceBlock(factor, factor, &variance);
  // Residuals say how much of the assumed error there is, and more if the mat's shape is off.
  const double chi2 = 2 * best->cost / std::max(1.0, 2.0 * double(seen.size()) - 7);
  return {std::exp(best->log_factor), std::sqrt(variance * std::max(0.1, chi2))};
}

}  // namespace

std::vector<PhotoFocal> focalOfEachPhoto(const MatBundle& bundle,
                                         const std::vector<CornerSighting>& sightings) {
  // Where two lenses were adjusted as one, oblong pixels and a wandering middle hide it.
  MatBundle square = bundle;
  CameraModel& camera = square.camera;
  camera.fy_px = camera.fx_px;
  camera.cx_px = (camera.width_px - 1) / 2.0;
  camera.cy_px = (camera.height_px - 1) / 2.0;
  camera.p1 = camera.p2 = 0;
  std::vector<std::vector<const CornerSighting*>> seen(bundle.posed.size());
  for (const CornerSighting& s : sightings) seen[size_t(s.photo)].push_back(&s);
  std::vector<PhotoFocal> out(seen.size());
  tbb::parallel_for(size_t{0}, seen.size(),
                    [&](size_t p) { out[p] = focalOf(square, p, seen[p]); });
  return out;
}

std::vector<bool> zoomedPhotos(const std::vector<PhotoFocal>& focals) {
  std::vector<double> known;
  for (const PhotoFocal& f : focals)
    if (f.sigma > 0) known.push_back(std::log(f.ratio));
  std::vector<bool> off(focals.size(), false);
  if (known.size() < 3) return off;
  const double usual = medianOf(known);
  for (size_t i = 0; i < focals.size(); ++i)
    off[i] = focals[i].sigma > 0 &&
             std::abs(std::log(focals[i].ratio) - usual) > std::max(0.05, 5 * focals[i].sigma);
  return off;
}

}  // namespace holdshelf
