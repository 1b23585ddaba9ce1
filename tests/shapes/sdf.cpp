// SPDX-License-Identifier: Apache-2.0
#include "tests/shapes/sdf.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <random>
#include <stdexcept>

#include "tests/shapes/profile.h"

namespace holdshelf {
namespace {

using Eigen::Vector2d;
using Eigen::Vector3d;

/// Distance to the product of two ranges whose own signed distances are d.x and d.y.
double square(const Vector2d& d) { return std::min(d.maxCoeff(), 0.0) + d.cwiseMax(0.0).norm(); }

double boxDistance(const Vector3d& p, const Vector3d& half) {
  const Vector3d d = p.cwiseAbs() - half;
  return std::min(d.maxCoeff(), 0.0) + d.cwiseMax(0.0).norm();
}

double smoothMin(double a, double b, double k) {
  const double h = std::max(k - std::abs(a - b), 0.0) / k;
  return std::min(a, b) - h * h * k / 4;
}

/// A sum of sine waves in random directions, within [-1, 1]; gradient at most 2 pi / wavelength.
struct Waves {
  static constexpr int kCount = 6;
  std::array<Vector3d, kCount> wave;
  std::array<double, kCount> phase;

  Waves(double wavelength_mm, std::uint32_t seed) {
    std::mt19937 random(seed);
    // Not std::uniform_real_distribution, whose numbers differ between libraries.
    const auto uniform = [&] { return (random() + 0.5) / 4294967296.0; };
    for (int i = 0; i < kCount; ++i) {
      const double z = 2 * uniform() - 1, turn = 2 * std::numbers::pi * uniform();
      const double stretch = 0.7 + 0.3 * uniform();
      const double flat = std::sqrt(1 - z * z);
      wave[i] = Vector3d(flat * std::cos(turn), flat * std::sin(turn), z) *
                (2 * std::numbers::pi * stretch / wavelength_mm);
      phase[i] = 2 * std::numbers::pi * uniform();
    }
  }
  double at(const Vector3d& p) const {
    double sum = 0;
    for (int i = 0; i < kCount; ++i) sum += std::sin(wave[i].dot(p) + phase[i]);
    return sum / kCount;
  }
};

void checkSlope(double height_mm, double wavelength_mm) {
  if (!(2 * std::numbers::pi * height_mm / wavelength_mm < 0.4))
    throw std::invalid_argument("bumps: too steep for their wavelength");
}

}  // namespace

Vector3d Sdf::gradient(const Vector3d& p_mm) const {
  constexpr double kStep_mm = 1e-4;
  Vector3d g;
  for (int i = 0; i < 3; ++i) {
    const Vector3d step = Vector3d::Unit(i) * kStep_mm;
    g[i] = ((*this)(p_mm + step) - (*this)(p_mm - step)) / (2 * kStep_mm);
  }
  return g;
}

Vector3d Sdf::project(const Vector3d& p_mm) const {
  Vector3d p = p_mm;
  for (int i = 0; i < 20; ++i) {
    const double f = (*this)(p);
    if (std::abs(f) < 1e-9) break;
    const Vector3d g = gradient(p);
    p -= f * g / std::max(g.squaredNorm(), 0.05);
  }
  return p;
}

Sdf sphere(double radius_mm) {
  return Sdf([=](const Vector3d& p) { return p.norm() - radius_mm; });
}

Sdf box(const Vector3d& half_mm) {
  return Sdf([=](const Vector3d& p) { return boxDistance(p, half_mm); });
}

Sdf roundedBox(const Vector3d& half_mm, double radius_mm) {
  const Vector3d inner = half_mm.array() - radius_mm;
  return Sdf([=](const Vector3d& p) { return boxDistance(p, inner) - radius_mm; });
}

Sdf cylinder(double radius_mm, double half_height_mm) {
  return Sdf([=](const Vector3d& p) {
    return square({p.head<2>().norm() - radius_mm, std::abs(p.z()) - half_height_mm});
  });
}

Sdf cone(double bottom_mm, double top_mm, double half_height_mm) {
  const double left = -2 * (bottom_mm + top_mm + half_height_mm);
  return revolve(Profile({{{left, -half_height_mm}},
                          {{bottom_mm, -half_height_mm}},
                          {{top_mm, half_height_mm}},
                          {{left, half_height_mm}}}));
}

Sdf capsule(const Vector3d& a_mm, const Vector3d& b_mm, double radius_mm) {
  const Vector3d axis = b_mm - a_mm;
  return Sdf([=](const Vector3d& p) {
    const double t = std::clamp((p - a_mm).dot(axis) / axis.squaredNorm(), 0.0, 1.0);
    return (p - a_mm - t * axis).norm() - radius_mm;
  });
}

Sdf torus(double ring_mm, double tube_mm) {
  return Sdf([=](const Vector3d& p) {
    return Vector2d(p.head<2>().norm() - ring_mm, p.z()).norm() - tube_mm;
  });
}

Sdf halfSpace(const Vector3d& normal, double offset_mm) {
  const Vector3d n = normal.normalized();
  return Sdf([=](const Vector3d& p) { return n.dot(p) - offset_mm; });
}

Sdf ellipsoid(const Vector3d& radii_mm) {
  const double smallest = radii_mm.minCoeff();
  return Sdf([=](const Vector3d& p) {
    const double k0 = p.cwiseQuotient(radii_mm).norm();
    const double k1 = p.cwiseQuotient(radii_mm.cwiseProduct(radii_mm)).norm();
    if (k1 < 1e-12) return -smallest;
    // First order outside and near; the plain scaled bound deep inside, where it is safe.
    return k0 < 0.5 ? (k0 - 1) * smallest : std::max(k0 * (k0 - 1) / k1, (k0 - 1) * smallest);
  });
}

Sdf extrude(const Profile& profile, double half_width_mm) {
  return Sdf([=](const Vector3d& p) {
    return square({profile({p.y(), p.z()}), std::abs(p.x()) - half_width_mm});
  });
}

Sdf revolve(const Profile& profile) {
  return Sdf([=](const Vector3d& p) { return profile({p.head<2>().norm(), p.z()}); });
}

Sdf revolveStadium(const Profile& profile, double half_length_mm) {
  return Sdf([=](const Vector3d& p) {
    const double along = std::max(std::abs(p.x()) - half_length_mm, 0.0);
    return profile({Vector2d(along, p.y()).norm(), p.z()});
  });
}

Sdf unite(const Sdf& a, const Sdf& b, double blend_mm) {
  if (blend_mm <= 0) return Sdf([=](const Vector3d& p) { return std::min(a(p), b(p)); });
  return Sdf([=](const Vector3d& p) { return smoothMin(a(p), b(p), blend_mm); });
}

Sdf intersect(const Sdf& a, const Sdf& b, double blend_mm) {
  if (blend_mm <= 0) return Sdf([=](const Vector3d& p) { return std::max(a(p), b(p)); });
  return Sdf([=](const Vector3d& p) { return -smoothMin(-a(p), -b(p), blend_mm); });
}

Sdf subtract(const Sdf& a, const Sdf& b, double blend_mm) {
  if (blend_mm <= 0) return Sdf([=](const Vector3d& p) { return std::max(a(p), -b(p)); });
  return Sdf([=](const Vector3d& p) { return -smoothMin(-a(p), b(p), blend_mm); });
}

Sdf offset(const Sdf& a, double by_mm) {
  return Sdf([=](const Vector3d& p) { return a(p) - by_mm; });
}

Sdf transform(const Sdf& a, const Eigen::Isometry3d& T) {
  const Eigen::Isometry3d back = T.inverse();
  return Sdf([=](const Vector3d& p) { return a(back * p); });
}

Sdf translate(const Sdf& a, const Vector3d& by_mm) {
  return Sdf([=](const Vector3d& p) { return a(p - by_mm); });
}

Sdf rotate(const Sdf& a, double angle_deg, const Vector3d& axis) {
  Eigen::Isometry3d T = Eigen::Isometry3d::Identity();
  T.rotate(Eigen::AngleAxisd(angle_deg * std::numbers::pi / 180, axis.normalized()));
  return transform(a, T);
}

Sdf mirrorX(const Sdf& a) {
  return Sdf([=](const Vector3d& p) { return a(Vector3d(-p.x(), p.y(), p.z())); });
}

Sdf bumps(const Sdf& a, double height_mm, double wavelength_mm, std::uint32_t seed) {
  checkSlope(height_mm, wavelength_mm);
  const Waves waves(wavelength_mm, seed);
  return Sdf([=](const Vector3d& p) { return a(p) - height_mm * waves.at(p); });
}

Sdf bumpsOutside(const Sdf& a, double height_mm, double wavelength_mm, std::uint32_t seed,
                 const Sdf& quiet, double fade_mm) {
  checkSlope(height_mm, wavelength_mm);
  const Waves waves(wavelength_mm, seed);
  return Sdf([=](const Vector3d& p) {
    const double t = std::clamp(quiet(p) / fade_mm, 0.0, 1.0);
    const double fade = t * t * (3 - 2 * t);
    return fade > 0 ? a(p) - height_mm * fade * waves.at(p) : a(p);
  });
}

}  // namespace holdshelf
