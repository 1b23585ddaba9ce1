// SPDX-License-Identifier: Apache-2.0
#include "mesh/circle_fit.h"

#include <Eigen/Dense>
#include <cmath>

namespace holdshelf {
namespace {

/// Taubin's circle about centred points, by Newton's steps on the characteristic polynomial
/// (N. Chernov, "Circular and Linear Regression", 2010, section 5.9).
Eigen::Vector3d taubinCircle(std::span<const Eigen::Vector2d> p, const Eigen::Vector2d& mean) {
  double xx = 0, yy = 0, xy = 0, xz = 0, yz = 0, zz = 0;
  for (const Eigen::Vector2d& q : p) {
    const double x = q.x() - mean.x(), y = q.y() - mean.y(), z = x * x + y * y;
    xx += x * x, yy += y * y, xy += x * y, xz += x * z, yz += y * z, zz += z * z;
  }
  const double n = static_cast<double>(p.size());
  xx /= n, yy /= n, xy /= n, xz /= n, yz /= n, zz /= n;
  const double z = xx + yy, cov = xx * yy - xy * xy, var = zz - z * z;
  const double a3 = 4 * z, a2 = -3 * z * z - zz;
  const double a1 = var * z + 4 * cov * z - xz * xz - yz * yz;
  const double a0 = xz * (xz * yy - yz * xy) + yz * (yz * xx - xz * xy) - var * cov;
  double root = 0;
  for (int i = 0; i < 40; ++i) {
    const double slope = a1 + root * (2 * a2 + 3 * a3 * root);
    const double next = root - (a0 + root * (a1 + root * (a2 + a3 * root))) / slope;
    if (!std::isfinite(next) || std::abs(next - root) <= 1e-14 * std::abs(next)) break;
    root = next;
  }
  const double det = 2 * (root * root - root * z + cov);
  const double cx = (xz * (yy - root) - yz * xy) / det, cy = (yz * (xx - root) - xz * xy) / det;
  return {cx + mean.x(), cy + mean.y(), std::sqrt(cx * cx + cy * cy + z + 2 * root)};
}

double squares(std::span<const Eigen::Vector2d> p, const Eigen::Vector3d& circle) {
  double sum = 0;
  for (const Eigen::Vector2d& q : p) {
    const double d = (q - circle.head<2>()).norm() - circle[2];
    sum += d * d;
  }
  return sum;
}

void normalEquations(std::span<const Eigen::Vector2d> p, const Eigen::Vector3d& circle,
                     Eigen::Matrix3d& hessian, Eigen::Vector3d& gradient) {
  hessian.setZero();
  gradient.setZero();
  for (const Eigen::Vector2d& q : p) {
    const Eigen::Vector2d away = q - circle.head<2>();
    const double distance = away.norm();
    if (distance <= 0) continue;
    const Eigen::Vector3d j(-away.x() / distance, -away.y() / distance, -1);
    hessian += j * j.transpose();
    gradient += j * (distance - circle[2]);
  }
}

/// Normal equations of many arcs with the centres eliminated: one equation for the radius.
struct CommonStep {
  double hessian = 0, gradient = 0;  ///< Of the radius.
  struct Centre {
    Eigen::Vector2d own, by_radius;  ///< Step = own + by_radius * (step of the radius).
  };
  std::vector<Centre> centres;
};

CommonStep commonStep(std::span<const std::vector<Eigen::Vector2d>> arcs,
                      const std::vector<Eigen::Vector3d>& circles, double damping) {
  CommonStep out;
  for (std::size_t a = 0; a < arcs.size(); ++a) {
    Eigen::Matrix3d h;
    Eigen::Vector3d g;
    normalEquations(arcs[a], circles[a], h, g);
    h.diagonal() *= 1 + damping;
    const Eigen::Matrix2d inverse = h.topLeftCorner<2, 2>().inverse();
    const Eigen::Vector2d cross = h.topRightCorner<2, 1>();
    const Eigen::Vector2d own = -inverse * g.head<2>(), by_radius = -inverse * cross;
    out.hessian += h(2, 2) + cross.dot(by_radius);
    out.gradient += g[2] + cross.dot(own);
    out.centres.push_back({own, by_radius});
  }
  return out;
}

double squares(std::span<const std::vector<Eigen::Vector2d>> arcs,
               const std::vector<Eigen::Vector3d>& circles) {
  double sum = 0;
  for (std::size_t a = 0; a < arcs.size(); ++a) sum += squares(arcs[a], circles[a]);
  return sum;
}

/// Circles to begin with: all of the arcs' mean curvature, each arc's middle kept where it is.
std::vector<Eigen::Vector3d> startCircles(std::span<const std::vector<Eigen::Vector2d>> arcs) {
  std::vector<Eigen::Vector3d> circles;
  double curvature = 0, count = 0;
  for (const auto& arc : arcs) {
    const auto fit = fitCircle(arc);
    if (!fit) return {};
    circles.emplace_back(fit->centre_mm.x(), fit->centre_mm.y(), fit->radius_mm);
    curvature += static_cast<double>(arc.size()) / fit->radius_mm;
    count += static_cast<double>(arc.size());
  }
  if (circles.size() == 1) return circles;
  for (std::size_t a = 0; a < arcs.size(); ++a) {
    const Eigen::Vector2d middle = arcs[a][arcs[a].size() / 2];
    const Eigen::Vector2d in = (circles[a].head<2>() - middle).normalized();
    circles[a] << middle + in * (count / curvature), count / curvature;
  }
  return circles;
}

}  // namespace

std::optional<CommonCircle> fitCommonCircle(std::span<const std::vector<Eigen::Vector2d>> arcs) {
  std::vector<Eigen::Vector3d> circles = startCircles(arcs);
  if (circles.empty()) return std::nullopt;
  double cost = squares(arcs, circles), damping = 1e-6, count = 0;
  for (int i = 0; i < 60; ++i) {
    const CommonStep step = commonStep(arcs, circles, damping);
    const double by = -step.gradient / step.hessian;
    std::vector<Eigen::Vector3d> next = circles;
    for (std::size_t a = 0; a < arcs.size(); ++a) {
      next[a].head<2>() += step.centres[a].own + by * step.centres[a].by_radius;
      next[a][2] += by;
    }
    const double next_cost = squares(arcs, next);
    if (!(next_cost <= cost)) {
      damping *= 10;
      if (damping > 1e8) break;
      continue;
    }
    circles = std::move(next);
    cost = next_cost;
    damping = std::max(damping * 0.3, 1e-12);
    if (std::abs(by) < 1e-10 * circles.front()[2]) break;
  }
  CommonCircle out;
  out.radius_mm = circles.front()[2];
  if (!std::isfinite(cost) || !(out.radius_mm > 0 && out.radius_mm <= 1e4)) return std::nullopt;
  for (const auto& arc : arcs) count += static_cast<double>(arc.size());
  for (const Eigen::Vector3d& c : circles) out.centres_mm.emplace_back(c.head<2>());
  out.rms_mm = std::sqrt(cost / count);
  const double hessian = commonStep(arcs, circles, 0).hessian;
  out.radius_per_mm = hessian > 0 ? 1 / std::sqrt(hessian) : 1e3;
  return out;
}

std::optional<CircleFit> fitCircle(std::span<const Eigen::Vector2d> points_mm) {
  if (points_mm.size() < 3) return std::nullopt;
  Eigen::Vector2d mean = Eigen::Vector2d::Zero();
  for (const Eigen::Vector2d& q : points_mm) mean += q;
  mean /= static_cast<double>(points_mm.size());
  Eigen::Vector3d circle = taubinCircle(points_mm, mean);
  if (!circle.allFinite() || circle[2] > 1e4) return std::nullopt;

  double cost = squares(points_mm, circle), damping = 1e-6;
  Eigen::Matrix3d hessian;
  Eigen::Vector3d gradient;
  for (int i = 0; i < 100; ++i) {
    normalEquations(points_mm, circle, hessian, gradient);
    Eigen::Matrix3d damped = hessian;
    damped.diagonal() *= 1 + damping;
    const Eigen::Vector3d step = damped.ldlt().solve(-gradient);
    const Eigen::Vector3d next = circle + step;
    const double next_cost = squares(points_mm, next);
    if (!(next_cost <= cost)) {
      damping *= 10;
      if (damping > 1e8) break;
      continue;
    }
    circle = next;
    cost = next_cost;
    damping = std::max(damping * 0.3, 1e-12);
    if (step.norm() < 1e-11 * (1 + circle.norm())) break;
  }
  if (!circle.allFinite() || circle[2] <= 0 || circle[2] > 1e4) return std::nullopt;
  normalEquations(points_mm, circle, hessian, gradient);
  const Eigen::Matrix3d inverse = hessian.inverse();
  return CircleFit{circle.head<2>(), circle[2],
                   std::sqrt(cost / static_cast<double>(points_mm.size())),
                   inverse.allFinite() ? std::sqrt(std::max(inverse(2, 2), 0.0)) : 1e3};
}

std::optional<LineFit> fitLine(std::span<const Eigen::Vector2d> points_mm) {
  if (points_mm.size() < 2) return std::nullopt;
  Eigen::Vector2d mean = Eigen::Vector2d::Zero();
  for (const Eigen::Vector2d& q : points_mm) mean += q;
  mean /= static_cast<double>(points_mm.size());
  double xx = 0, yy = 0, xy = 0;
  for (const Eigen::Vector2d& q : points_mm) {
    const Eigen::Vector2d d = q - mean;
    xx += d.x() * d.x(), yy += d.y() * d.y(), xy += d.x() * d.y();
  }
  const double spread = std::hypot(xx - yy, 2 * xy), along = (xx + yy + spread) / 2;
  if (!(along > 0)) return std::nullopt;
  const double angle = 0.5 * std::atan2(2 * xy, xx - yy);
  LineFit fit{mean, {std::cos(angle), std::sin(angle)}, 0, 1 / std::sqrt(along)};
  if (fit.direction.dot(points_mm.back() - points_mm.front()) < 0) fit.direction = -fit.direction;
  fit.rms_mm =
      std::sqrt(std::max(0.0, (xx + yy - spread) / 2) / static_cast<double>(points_mm.size()));
  return fit;
}

}  // namespace holdshelf
