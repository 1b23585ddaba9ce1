// SPDX-License-Identifier: Apache-2.0
#include "capture/edge_line.h"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <stdexcept>
#include <vector>

#include "capture/median.h"
#include "mesh/srgb.h"

namespace holdshelf {
namespace {

using Eigen::Vector2d;
using Eigen::Vector3d;

/// Samples of one scan line across a side.
struct Scan {
  double along = 0;            ///< s, from the side's middle, px.
  std::vector<double> across;  ///< t of each sample, px, outwards positive.
  std::vector<double> light;
};

std::optional<double> sample(const cv::Mat& linear, const Vector2d& p) {
  const double fx = std::floor(p.x()), fy = std::floor(p.y());
  const int x = static_cast<int>(fx), y = static_cast<int>(fy);
  if (x < 0 || y < 0 || x + 1 >= linear.cols || y + 1 >= linear.rows) return std::nullopt;
  const double ax = p.x() - fx, ay = p.y() - fy;
  const float *r0 = linear.ptr<float>(y), *r1 = linear.ptr<float>(y + 1);
  return (1 - ay) * ((1 - ax) * r0[x] + ax * r0[x + 1]) + ay * ((1 - ax) * r1[x] + ax * r1[x + 1]);
}

/// Light along scan lines centred on the side's present line.
std::vector<Scan> scanSide(const cv::Mat& linear, const EdgeLine& side, double length, double reach,
                           const CameraModel* lens) {
  std::vector<Scan> scans;
  const double margin = std::max(3.0, 0.06 * length), step = std::max(1.0, length / 120);
  for (double s = -length / 2 + margin; s <= length / 2 - margin; s += step) {
    Scan scan;
    scan.along = s;
    const double line = side.offset + side.slope * s;
    for (double d = -reach; d <= reach + 1e-9; d += 0.5) {
      Vector2d p = side.middle + s * side.direction + (line + d) * side.towards_bright;
      if (lens) p = photoPixel(*lens, p);
      const auto light = sample(linear, p);
      if (!light) break;
      scan.across.push_back(line + d);
      scan.light.push_back(*light);
    }
    if (scan.across.size() == static_cast<size_t>(std::floor(2 * reach / 0.5 + 1e-6)) + 1)
      scans.push_back(std::move(scan));
  }
  return scans;
}

/// One scan line's say on its edge position t0 and blur, dark and bright eliminated.
struct ScanFit {
  Eigen::Matrix2d information = Eigen::Matrix2d::Zero();  ///< Of (t0, blur).
  Vector2d gradient = Vector2d::Zero();
  double contrast = 0, shift = 0, residual = 0;
};

ScanFit fitScan(const Scan& scan, double t0, double blur) {
  Eigen::Matrix2d BB = Eigen::Matrix2d::Zero();  // Basis: 1, Phi.
  Vector2d By = Vector2d::Zero();
  const size_t n = scan.across.size();
  static thread_local std::vector<double> phi, bell, z;
  phi.resize(n), bell.resize(n), z.resize(n);
  for (size_t i = 0; i < n; ++i) {
    z[i] = (scan.across[i] - t0) / blur;
    phi[i] = 0.5 * std::erfc(-z[i] * M_SQRT1_2);
    bell[i] = 0.3989422804014327 * std::exp(-0.5 * z[i] * z[i]);
    const Vector2d b(1, phi[i]);
    BB += b * b.transpose();
    By += b * scan.light[i];
  }
  const Eigen::Matrix2d BB_inverse = BB.inverse();
  const Vector2d levels = BB_inverse * By;
  ScanFit fit;
  fit.contrast = levels.y();
  Eigen::Matrix2d JJ = Eigen::Matrix2d::Zero(), JB = Eigen::Matrix2d::Zero();
  Vector2d Jr = Vector2d::Zero();
  for (size_t i = 0; i < n; ++i) {
    const double r = scan.light[i] - levels.x() - levels.y() * phi[i];
    const Vector2d j = -levels.y() / blur * bell[i] * Vector2d(1, z[i]);
    JJ += j * j.transpose();
    JB += j * Vector2d(1, phi[i]).transpose();
    Jr += j * r;
    fit.residual += r * r;
  }
  fit.residual = std::sqrt(fit.residual / static_cast<double>(n));
  fit.information = JJ - JB * BB_inverse * JB.transpose();
  fit.gradient = Jr;
  fit.shift = fit.information(0, 0) > 0 ? Jr.x() / fit.information(0, 0) : 0;
  return fit;
}

/// Tukey weights of the scan lines; those without the side's contrast are off.
std::vector<double> weigh(const std::vector<ScanFit>& fits, double& scale) {
  std::vector<double> contrasts, shifts, weights(fits.size());
  for (const auto& f : fits) contrasts.push_back(f.contrast);
  const double contrast = medianOf(contrasts);
  for (const auto& f : fits)
    if (f.contrast > 0.6 * contrast) shifts.push_back(f.shift);
  const double centre = medianOf(shifts);
  for (auto& s : shifts) s = std::abs(s - centre);
  scale = std::max(0.03, 1.4826 * medianOf(shifts));
  for (size_t i = 0; i < fits.size(); ++i) {
    const double u = (fits[i].shift - centre) / (4.685 * scale);
    const bool off = fits[i].contrast < 0.6 * contrast || fits[i].contrast > 1.6 * contrast;
    weights[i] = off || std::abs(u) >= 1 ? 0 : (1 - u * u) * (1 - u * u);
  }
  return contrast > 0.04 ? weights : std::vector<double>(fits.size(), 0);
}

/// Gauss-Newton step on (offset, slope, blur); returns false when the scan lines do not support it.
bool stepSide(const std::vector<Scan>& scans, EdgeLine& side, bool last) {
  std::vector<ScanFit> fits;
  for (const auto& scan : scans)
    fits.push_back(fitScan(scan, side.offset + side.slope * scan.along, side.blur_px));
  double scale = 0;
  const std::vector<double> weights = weigh(fits, scale);
  Eigen::Matrix3d A = Eigen::Matrix3d::Zero();
  Vector3d b = Vector3d::Zero();
  double used = 0, misfit = 0, mass = 0;
  for (size_t i = 0; i < scans.size(); ++i) {
    Eigen::Matrix<double, 2, 3> M;
    M << 1, scans[i].along, 0, 0, 0, 1;
    A += weights[i] * M.transpose() * fits[i].information * M;
    b += weights[i] * M.transpose() * fits[i].gradient;
    used += weights[i] > 0;
    misfit += weights[i] * fits[i].shift * fits[i].shift;
    mass += weights[i];
  }
  if (used < 8 || used < 0.6 * static_cast<double>(scans.size())) return false;
  const Vector3d step = A.ldlt().solve(b);
  if (!step.allFinite() || std::abs(step.x()) > 4) return false;
  if (last) {
    // Covariance scaled by how far the scan lines' own positions scatter about the line.
    const double scatter2 = misfit / mass, mean_information = A(0, 0) / mass;
    const Eigen::Matrix3d covariance = A.inverse() * scatter2 * mean_information;
    side.offset_sigma = std::sqrt(std::max(0.0, covariance(0, 0)));
    side.slope_sigma = std::sqrt(std::max(0.0, covariance(1, 1)));
    return std::sqrt(scatter2) < 0.5;
  }
  side.offset += step.x();
  side.slope += step.y();
  side.blur_px = std::clamp(side.blur_px + std::clamp(step.z(), -0.5, 0.5), 0.3, 8.0);
  return std::abs(side.slope) < 0.2;
}

}  // namespace

EdgeLine fitEdge(const cv::Mat& linear, const Vector2d& a, const Vector2d& b,
                 const Vector2d& bright_side, double reach_px, const CameraModel* lens) {
  EdgeLine side;
  const double length = (b - a).norm();
  side.middle = (a + b) / 2;
  side.direction = (b - a) / length;
  side.towards_bright = {-side.direction.y(), side.direction.x()};
  if (side.towards_bright.dot(bright_side - side.middle) < 0)
    side.towards_bright = -side.towards_bright;
  side.blur_px = 0.9;
  if (reach_px < 1.6 || length < 14) return side;
  for (int round = 0; round < 3; ++round) {
    const auto scans = scanSide(linear, side, length, reach_px, lens);
    for (int i = 0; i < 3; ++i)
      if (!stepSide(scans, side, false)) return side;
    if (round == 2) side.valid = stepSide(scans, side, true);
  }
  // Blur that fills the reach leaves no plateau to fit: the position can't be trusted.
  side.valid = side.valid && side.blur_px < 0.75 * reach_px;
  return side;
}

cv::Mat linearLight(const cv::Mat& bgr) {
  if (bgr.type() != CV_8UC3) throw std::invalid_argument("linearLight: bgr must be CV_8UC3");
  std::array<float, 256> curve{};
  for (int i = 0; i < 256; ++i)
    curve[static_cast<size_t>(i)] = linearFromSrgb(static_cast<std::uint8_t>(i));
  cv::Mat linear(bgr.size(), CV_32FC1);
  for (int y = 0; y < bgr.rows; ++y) {
    const auto* in = bgr.ptr<unsigned char>(y);
    auto* out = linear.ptr<float>(y);
    for (int x = 0; x < bgr.cols; ++x, in += 3)
      out[x] = 0.0722F * curve[in[0]] + 0.7152F * curve[in[1]] + 0.2126F * curve[in[2]];
  }
  return linear;
}

Vector2d idealPixel(const CameraModel& lens, const Vector2d& photo_px) {
  const Vector3d ray = lens.ray(photo_px);
  return {lens.fx_px * ray.x() + lens.cx_px, lens.fy_px * ray.y() + lens.cy_px};
}

Vector2d photoPixel(const CameraModel& lens, const Vector2d& ideal_px) {
  const Vector3d ray((ideal_px.x() - lens.cx_px) / lens.fx_px,
                     (ideal_px.y() - lens.cy_px) / lens.fy_px, 1);
  return *lens.project(ray);
}

}  // namespace holdshelf
