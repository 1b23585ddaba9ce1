// SPDX-License-Identifier: Apache-2.0
#include "capture/bundle_costs.h"

#include <ceres/autodiff_cost_function.h>

#include <Eigen/Dense>
#include <algorithm>

namespace holdshelf {
namespace {

/// A corner's reprojection, whitened: camera, rotation (quaternion x y z w), translation, corner.
struct Reprojection {
  Eigen::Vector2d px;
  double sigma_px;

  template <typename T>
  bool operator()(const T* c, const T* q, const T* t, const T* X, T* residual) const {
    const Eigen::Map<const Eigen::Quaternion<T>> rotation(q);
    const Eigen::Map<const Eigen::Matrix<T, 3, 1>> translation(t), point(X);
    const Eigen::Matrix<T, 3, 1> p = rotation * point + translation;
    if (p.z() < T(1e-6)) return false;
    const T x = p.x() / p.z(), y = p.y() / p.z(), r2 = x * x + y * y;
    const T radial = T(1) + r2 * (c[kK1] + r2 * (c[kK2] + r2 * c[kK3]));
    const T xd = x * radial + T(2) * c[kP1] * x * y + c[kP2] * (r2 + T(2) * x * x);
    const T yd = y * radial + c[kP1] * (r2 + T(2) * y * y) + T(2) * c[kP2] * x * y;
    residual[0] = (c[kFx] * xd + c[kCx] - px.x()) / sigma_px;
    residual[1] = (c[kFy] * yd + c[kCy] - px.y()) / sigma_px;
    return true;
  }
};

/// What a camera usually is, as nine weak observations.
struct CameraPrior {
  double width_px, height_px, focal_px, focal_sigma;

  template <typename T>
  bool operator()(const T* c, T* r) const {
    r[0] = (c[kCx] - T((width_px - 1) / 2)) / T(0.03 * width_px);
    r[1] = (c[kCy] - T((height_px - 1) / 2)) / T(0.03 * width_px);
    r[2] = (c[kFx] - c[kFy]) / (T(0.01) * c[kFx]);
    r[3] = c[kK1] / T(0.3);
    r[4] = c[kK2] / T(0.3);
    r[5] = c[kK3] / T(0.2);
    r[6] = c[kP1] / T(0.003);
    r[7] = c[kP2] / T(0.003);
    r[8] = (c[kFx] - T(focal_px)) / T(focal_px * focal_sigma);
    return true;
  }
};

/// A corner stays near its nominal place: 0.3 mm in the plane, 6 mm out of it.
struct CornerPrior {
  Eigen::Vector2d nominal;
  template <typename T>
  bool operator()(const T* X, T* r) const {
    r[0] = (X[0] - T(nominal.x())) / T(0.3);
    r[1] = (X[1] - T(nominal.y())) / T(0.3);
    r[2] = X[2] / T(6.0);
    return true;
  }
};

/// A marker's four corners stay in one plane to 0.05 mm: paper bends, it does not twist in 35 mm.
struct TwistPrior {
  template <typename T>
  bool operator()(const T* a, const T* b, const T* c, const T* d, T* r) const {
    r[0] = (a[2] - b[2] + c[2] - d[2]) / T(0.05);
    return true;
  }
};

/// The next marker's corner lies near this marker's tangent plane. `weights` gives the plane's
/// height there as a sum over this marker's corners.
struct BendPrior {
  std::array<double, 4> weights;
  double sigma_mm;
  template <typename T>
  bool operator()(const T* a, const T* b, const T* c, const T* d, const T* X, T* r) const {
    r[0] = (X[2] - weights[0] * a[2] - weights[1] * b[2] - weights[2] * c[2] - weights[3] * d[2]) /
           T(sigma_mm);
    return true;
  }
};

/// Coefficients with which the plane fitted to four heights predicts the height at `at`.
std::array<double, 4> planeWeights(const Eigen::Vector2d* corners, const Eigen::Vector2d& at) {
  Eigen::Matrix<double, 4, 3> A;
  for (int i = 0; i < 4; ++i) A.row(i) << 1, corners[i].transpose();
  const Eigen::RowVector4d w =
      Eigen::RowVector3d(1, at.x(), at.y()) * (A.transpose() * A).inverse() * A.transpose();
  return {w[0], w[1], w[2], w[3]};
}

}  // namespace

CameraArray toArray(const CameraModel& m) {
  return {m.fx_px, m.fy_px, m.cx_px, m.cy_px, m.k1, m.k2, m.p1, m.p2, m.k3};
}

void fromArray(const CameraArray& a, CameraModel& m) {
  m.fx_px = a[kFx], m.fy_px = a[kFy], m.cx_px = a[kCx], m.cy_px = a[kCy];
  m.k1 = a[kK1], m.k2 = a[kK2], m.p1 = a[kP1], m.p2 = a[kP2], m.k3 = a[kK3];
}

ceres::CostFunction* reprojectionCost(const Eigen::Vector2d& px, double sigma_px) {
  return new ceres::AutoDiffCostFunction<Reprojection, 2, kCameraParameters, 4, 3, 3>(
      new Reprojection{px, sigma_px});
}

ceres::CostFunction* cameraCost(int width_px, int height_px, double focal_px,
                                double focal_sigma_rel) {
  return new ceres::AutoDiffCostFunction<CameraPrior, 9, kCameraParameters>(
      new CameraPrior{double(width_px), double(height_px), focal_px, focal_sigma_rel});
}

ceres::CostFunction* cornerCost(const Eigen::Vector2d& nominal_mm) {
  return new ceres::AutoDiffCostFunction<CornerPrior, 3, 3>(new CornerPrior{nominal_mm});
}

ceres::CostFunction* twistCost() {
  return new ceres::AutoDiffCostFunction<TwistPrior, 1, 3, 3, 3, 3>(new TwistPrior);
}

ceres::CostFunction* bendCost(const Eigen::Vector2d* marker_mm, const Eigen::Vector2d& at_mm) {
  const Eigen::Vector2d middle = (marker_mm[0] + marker_mm[2]) / 2;
  const double d = (at_mm - middle).norm();
  return new ceres::AutoDiffCostFunction<BendPrior, 1, 3, 3, 3, 3, 3>(
      new BendPrior{planeWeights(marker_mm, at_mm), std::max(0.1, d * d / 800)});
}

}  // namespace holdshelf
