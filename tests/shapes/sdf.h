// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <Eigen/Geometry>
#include <concepts>
#include <cstdint>
#include <memory>
#include <utility>

namespace holdshelf {

/// A solid as a signed-distance function: millimetres, negative inside, zero on the surface.
/// A cheap-to-copy, immutable value; calling it from several threads is safe.
///
/// Promise of every function below unless it says else: the sign is exact, so the solid is exactly
/// what its description says, and the value is 1-Lipschitz, so that |value| never exceeds the true
/// distance. Primitives and single extrusions or revolutions give the true distance everywhere;
/// combinations give it near smooth parts of the surface.
class Sdf {
 public:
  template <typename F>
  requires std::invocable<const F&, const Eigen::Vector3d&> &&
      (!std::same_as<F, Sdf>)explicit Sdf(F function)
      : node_(std::make_shared<Holder<F>>(std::move(function))) {}

  double operator()(const Eigen::Vector3d& p_mm) const { return node_->at(p_mm); }

  /// Central differences over 2 x 1e-4 mm: good to about 1e-8 on smooth parts. Not normalised.
  Eigen::Vector3d gradient(const Eigen::Vector3d& p_mm) const;

  /// Point of the surface found from p by Newton steps along the gradient; its distance from p is
  /// the distance of p from the surface, to second order in that distance.
  Eigen::Vector3d project(const Eigen::Vector3d& p_mm) const;

 private:
  struct Node {
    virtual ~Node() = default;
    virtual double at(const Eigen::Vector3d& p_mm) const = 0;
  };
  template <typename F>
  struct Holder final : Node {
    explicit Holder(F f) : function(std::move(f)) {}
    double at(const Eigen::Vector3d& p_mm) const override { return function(p_mm); }
    F function;
  };
  std::shared_ptr<const Node> node_;
};

class Profile;

// Primitives, centred on the origin unless a parameter says else.
Sdf sphere(double radius_mm);
Sdf box(const Eigen::Vector3d& half_mm);
/// Outer half extents `half_mm`; all edges and corners rounded with exactly `radius_mm`.
Sdf roundedBox(const Eigen::Vector3d& half_mm, double radius_mm);
/// Axis z, from z = -half to z = half.
Sdf cylinder(double radius_mm, double half_height_mm);
/// Frustum about z: `bottom` radius at z = -half, `top` radius at z = half.
Sdf cone(double bottom_mm, double top_mm, double half_height_mm);
Sdf capsule(const Eigen::Vector3d& a_mm, const Eigen::Vector3d& b_mm, double radius_mm);
/// Axis z.
Sdf torus(double ring_mm, double tube_mm);
/// The points with normal . p < offset.
Sdf halfSpace(const Eigen::Vector3d& normal, double offset_mm);
/// The surface is exact; the value is a lower bound of the distance, exact to first order there.
Sdf ellipsoid(const Eigen::Vector3d& radii_mm);
/// The profile in the (y, z) plane, from x = -half to x = half, with square ends.
Sdf extrude(const Profile& profile, double half_width_mm);
/// The profile, x as radius (its part at x >= 0) and y as height, turned about the z axis. A solid
/// that meets the axis is best continued flat to far left of it: its own left side is a distance
/// too.
Sdf revolve(const Profile& profile);
/// The same, swept around the segment from (-half_length, 0) to (half_length, 0) instead of around
/// a point: the outlines are stadiums, and the profile's arcs stay exact all around.
Sdf revolveStadium(const Profile& profile, double half_length_mm);

// Combinations. blend > 0 rounds the seam (quadratic smooth minimum: only where both values differ
// by less than blend; the surface there moves by at most blend / 4).
Sdf unite(const Sdf& a, const Sdf& b, double blend_mm = 0);
Sdf intersect(const Sdf& a, const Sdf& b, double blend_mm = 0);
Sdf subtract(const Sdf& a, const Sdf& b, double blend_mm = 0);
/// Grown outwards by `by_mm`: convex edges get that radius.
Sdf offset(const Sdf& a, double by_mm);

/// The solid moved by T: a point p of it goes to T p.
Sdf transform(const Sdf& a, const Eigen::Isometry3d& T);
Sdf translate(const Sdf& a, const Eigen::Vector3d& by_mm);
/// Turned by the angle about the axis through the origin.
Sdf rotate(const Sdf& a, double angle_deg, const Eigen::Vector3d& axis);
/// Mirrored at the plane x = 0.
Sdf mirrorX(const Sdf& a);

/// Organic, low-frequency bumps: the surface moves along its normal by at most `height_mm`, with
/// wavelengths of about `wavelength_mm`. Built from a few sine waves in directions drawn from the
/// seed, so it is smooth and exactly known. Not 1-Lipschitz but (1 + slope), slope = 2 pi height /
/// wavelength, which must stay below 0.4.
/// @throws std::invalid_argument  The slope is too large.
Sdf bumps(const Sdf& a, double height_mm, double wavelength_mm, std::uint32_t seed);
/// The same, faded out around another solid (a bolt hole, a lip): no bumps inside it, full bumps
/// from `fade_mm` outside. The fading adds 1.5 height / fade to the slope.
Sdf bumpsOutside(const Sdf& a, double height_mm, double wavelength_mm, std::uint32_t seed,
                 const Sdf& quiet, double fade_mm);

}  // namespace holdshelf
