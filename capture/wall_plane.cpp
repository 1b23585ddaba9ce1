// SPDX-License-Identifier: Apache-2.0
#include "capture/wall_plane.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

namespace holdshelf {

WallPlane fitWallPlane(const std::vector<Eigen::Vector3d>& corners_A_mm,
                       const std::vector<Eigen::Vector2d>& layout_M_mm) {
  Eigen::AlignedBox2d box;
  for (const auto& X : layout_M_mm) box.extend(X);
  const Eigen::Vector2d middle = box.center();
  const double reach = box.diagonal().norm() / 3;
  const auto n = corners_A_mm.size();
  std::vector<double> weights(n, 1), off(n);
  Eigen::Vector3d plane = Eigen::Vector3d::Zero();  // z = plane . (1, x, y) about the middle.
  Eigen::Matrix3d A = Eigen::Matrix3d::Identity();
  double scale = 0;
  for (int round = 0; round < 10; ++round) {
    A.setZero();
    Eigen::Vector3d b = Eigen::Vector3d::Zero();
    for (size_t i = 0; i < n; ++i) {
      const Eigen::Vector2d d = corners_A_mm[i].head<2>() - middle;
      const double w = weights[i] * std::exp(-0.5 * d.squaredNorm() / (reach * reach));
      const Eigen::Vector3d row(1, d.x(), d.y());
      A += w * row * row.transpose();
      b += w * row * corners_A_mm[i].z();
    }
    plane = A.ldlt().solve(b);
    std::vector<double> sizes;
    for (size_t i = 0; i < n; ++i) {
      const Eigen::Vector2d d = corners_A_mm[i].head<2>() - middle;
      off[i] = corners_A_mm[i].z() - plane.dot(Eigen::Vector3d(1, d.x(), d.y()));
      sizes.push_back(std::abs(off[i]));
    }
    std::nth_element(sizes.begin(), sizes.begin() + static_cast<long>(n / 2), sizes.end());
    scale = std::max(0.02, 1.4826 * sizes[n / 2]);
    for (size_t i = 0; i < n; ++i) {
      const double u = off[i] / (4.685 * scale);
      weights[i] = std::abs(u) < 1 ? (1 - u * u) * (1 - u * u) : 0;
    }
  }
  WallPlane out;
  // The four corners of a marker say nearly the same, hence the 4.
  out.sigma_mm = scale * std::sqrt(4 * A.inverse()(0, 0));
  const Eigen::Vector3d normal = Eigen::Vector3d(-plane[1], -plane[2], 1).normalized();
  const Eigen::Quaterniond turn =
      Eigen::Quaterniond::FromTwoVectors(normal, Eigen::Vector3d::UnitZ());
  const Eigen::Vector3d foot(
      0, 0, plane.dot(Eigen::Vector3d(1, -middle.x(), -middle.y())));  // Below the mat's origin.
  out.T_wall_mat.linear() = turn.toRotationMatrix();
  out.T_wall_mat.translation() = -(turn * foot);
  return out;
}

}  // namespace holdshelf
