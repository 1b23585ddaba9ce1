// SPDX-License-Identifier: Apache-2.0
#include "catalog/lip_components.h"

#include <Eigen/Eigenvalues>
#include <Eigen/QR>
#include <algorithm>
#include <cmath>
#include <span>

namespace holdshelf {
namespace {

using Eigen::VectorXf;

constexpr int kNumbers = 2 * LipCurve::kPoints;  // x and y by turns.
constexpr float kQuantum = 0.01F;                // Of a stored component, mm.
constexpr int kComponents = LipComponents::kComponents;

/// A line's points less their mean: the shift that brings two lines nearest is then none.
VectorXf centred(std::span<const Eigen::Vector2f> points) {
  VectorXf numbers(2 * static_cast<Eigen::Index>(points.size()));
  Eigen::Vector2f mean = Eigen::Vector2f::Zero();
  for (const auto& p : points) mean += p / static_cast<float>(points.size());
  for (std::size_t i = 0; i < points.size(); ++i)
    numbers.segment<2>(2 * static_cast<Eigen::Index>(i)) = points[i] - mean;
  return numbers;
}

/// Rows of the points that a placement covers, less their mean.
Eigen::MatrixXf restricted(const Eigen::MatrixXf& whole, int first, Eigen::Index points) {
  Eigen::MatrixXf part = whole.middleRows(2 * first, 2 * points);
  for (Eigen::Index column = 0; column < part.cols(); ++column)
    for (int axis = 0; axis < 2; ++axis) {
      float mean = 0;
      for (Eigen::Index i = 0; i < points; ++i) mean += part(2 * i + axis, column);
      mean /= static_cast<float>(points);
      for (Eigen::Index i = 0; i < points; ++i) part(2 * i + axis, column) -= mean;
    }
  return part;
}

}  // namespace

LipComponents::LipComponents(std::size_t curves,
                             const std::function<LipCurve(std::size_t)>& curve) {
  Eigen::VectorXd sum = Eigen::VectorXd::Zero(kNumbers);
  Eigen::MatrixXd squares = Eigen::MatrixXd::Zero(kNumbers, kNumbers);
  for (std::size_t i = 0; i < curves; ++i) {
    const Eigen::VectorXd v = centred(curve(i).at_mm).cast<double>();
    sum += v;
    squares.selfadjointView<Eigen::Lower>().rankUpdate(v);
  }
  const auto count = static_cast<double>(curves);
  const Eigen::VectorXd mean = sum / count;
  squares.selfadjointView<Eigen::Lower>().rankUpdate(mean, -count);
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> solver(squares);
  mean_ = mean.cast<float>();
  components_ = solver.eigenvectors().rightCols(kComponents).cast<float>();
}

LipComponents::Point LipComponents::describe(const LipCurve& curve) const {
  const VectorXf v = centred(curve.at_mm) - mean_;
  const VectorXf exact = components_.transpose() * v;
  Point point{};
  float stored2 = 0, rounding2 = 0;
  for (std::size_t k = 0; k < kComponents; ++k) {
    const float value = exact[static_cast<Eigen::Index>(k)];
    point.at[k] =
        static_cast<std::int16_t>(std::clamp(std::round(value / kQuantum), -32767.0F, 32767.0F));
    stored2 += value * value;
    rounding2 += std::pow(value - kQuantum * point.at[k], 2.0F);
  }
  point.rest = std::sqrt(std::max(0.0F, v.squaredNorm() - stored2) + rounding2) + 1e-3F;
  return point;
}

LipComponents::Aim LipComponents::aimOf(const LipPlacement& placement) const {
  const auto points = static_cast<Eigen::Index>(placement.at_mm.size());
  const VectorXf target =
      centred(placement.at_mm) - restricted(mean_, placement.first, points).col(0);
  const Eigen::HouseholderQR<Eigen::MatrixXf> qr(restricted(components_, placement.first, points));
  const VectorXf turned = qr.householderQ().adjoint() * target;
  Aim aim{};
  for (int row = 0; row < kComponents; ++row)
    for (int k = row; k < kComponents; ++k)
      aim.form[static_cast<std::size_t>(row)][static_cast<std::size_t>(k)] =
          kQuantum * qr.matrixQR()(row, k);
  for (int row = 0; row < kComponents; ++row)
    aim.target[static_cast<std::size_t>(row)] = turned[row];
  aim.beyond = turned.tail(turned.size() - kComponents).squaredNorm();
  aim.per_gap = std::sqrt(static_cast<float>(points));
  return aim;
}

}  // namespace holdshelf
