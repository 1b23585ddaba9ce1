// SPDX-License-Identifier: Apache-2.0
#include "tests/shapes/artefacts.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <numbers>
#include <stdexcept>

#include "tests/shapes/profile.h"

namespace holdshelf {
namespace {

using Eigen::AlignedBox3d;
using Eigen::Vector3d;

Eigen::Isometry3d turn(double angle_deg, const Vector3d& axis) {
  Eigen::Isometry3d T = Eigen::Isometry3d::Identity();
  T.rotate(Eigen::AngleAxisd(angle_deg * std::numbers::pi / 180, axis));
  return T;
}

const std::map<std::string, std::function<Artefact()>>& shelf() {
  static const std::map<std::string, std::function<Artefact()>> all = {
      {"balls-0", [] { return ballPlate(0); }},
      {"balls-40", [] { return ballPlate(40); }},
      {"balls-80", [] { return ballPlate(80); }},
      {"flat-0", [] { return flatSlab(0, 0); }},
      {"flat-15", [] { return flatSlab(15, 35); }},
      {"flat-30", [] { return flatSlab(30, 70); }},
      {"accept-a4-0", [] { return acceptancePlate(1, 0); }},
      {"accept-a4-40", [] { return acceptancePlate(1, 40); }},
      {"accept-a4-80", [] { return acceptancePlate(1, 80); }},
      {"accept-a3-0", [] { return acceptancePlate(1.75, 0); }},
      {"accept-a3-40", [] { return acceptancePlate(1.75, 40); }},
      {"accept-a3-80", [] { return acceptancePlate(1.75, 80); }}};
  return all;
}

}  // namespace

Artefact ballPlate(double turn_deg) {
  constexpr double kRadius = 15;
  const Vector3d places[] = {
      {-55, -35, 24}, {55, -32, 40}, {50, 36, 26}, {-50, 34, 44}, {0, 0, 32}};
  Sdf solid = translate(roundedBox({72, 50, 4}, 3), {0, 0, 4});
  const Eigen::Isometry3d T = turn(turn_deg, Vector3d::UnitZ());
  std::vector<Artefact::Ball> balls;
  for (const Vector3d& c : places) {
    const Sdf stem = translate(cone(8, 5, c.z() / 2), {c.x(), c.y(), c.z() / 2});
    solid = unite(solid, unite(stem, translate(sphere(kRadius), c)));
    balls.push_back({T * c, kRadius});
  }
  const AlignedBox3d box(Vector3d(-72, -51, 0), Vector3d(72, 52, 60));
  return {ExactHold("balls", transform(solid, T), box.transformed(T)), balls, {}};
}

Artefact flatSlab(double tilt_deg, double turn_deg) {
  constexpr double kHalfLength = 90, kHalfWidth = 32, kHeight = 30;
  // The section is a box whose top is tilted; its foot stands on the wall plane.
  const double rise = kHalfWidth * std::tan(tilt_deg * std::numbers::pi / 180);
  const Profile section({{{-kHalfWidth, 0}},
                         {{kHalfWidth, 0}},
                         {{kHalfWidth, kHeight + rise}, 2},
                         {{-kHalfWidth, kHeight - rise}, 2}});
  const Eigen::Isometry3d T = turn(turn_deg, Vector3d::UnitZ());
  const Eigen::Isometry3d tilted = T * turn(tilt_deg, Vector3d::UnitX());
  Artefact::Flat flat;
  flat.centre_mm = Vector3d(0, 0, kHeight);
  flat.along = tilted.linear().col(0);
  flat.across = tilted.linear().col(1);
  flat.normal = tilted.linear().col(2);
  flat.half_length_mm = 85;
  flat.half_width_mm = 28;
  const AlignedBox3d box(Vector3d(-kHalfLength, -kHalfWidth, 0),
                         Vector3d(kHalfLength, kHalfWidth, kHeight + rise));
  return {ExactHold("flat", transform(extrude(section, kHalfLength), T), box.transformed(T)),
          {},
          {flat}};
}

Artefact acceptancePlate(double size, double turn_deg) {
  constexpr double kRadius = 12, kTilt_deg = 20, kEaves = 12, kHalfWidth = 52, kHalfLength = 55;
  const double slope = std::tan(kTilt_deg * std::numbers::pi / 180);
  const Profile section({{size * Eigen::Vector2d(-kHalfWidth, 0)},
                         {size * Eigen::Vector2d(kHalfWidth, 0)},
                         {size * Eigen::Vector2d(kHalfWidth, kEaves), 1},
                         {size * Eigen::Vector2d(0, kEaves + kHalfWidth * slope), 1},
                         {size * Eigen::Vector2d(-kHalfWidth, kEaves), 1}});
  const Eigen::Isometry3d T = turn(turn_deg, Vector3d::UnitZ());
  Sdf solid = unite(translate(roundedBox(size * Vector3d(80, 60, 3), 2), {0, 0, size * 3}),
                    rotate(extrude(section, size * kHalfLength), 90, Vector3d::UnitZ()));
  std::vector<Artefact::Ball> balls;
  for (const Vector3d& at : {Vector3d(-68, -42, 22), Vector3d(68, -38, 44), Vector3d(66, 44, 28),
                             Vector3d(-66, 40, 36)}) {
    const Vector3d c = size * at;
    const Sdf stem = translate(cone(size * 7, size * 4, c.z() / 2), {c.x(), c.y(), c.z() / 2});
    solid = unite(solid, unite(stem, translate(sphere(size * kRadius), c)));
    balls.push_back({T * c, size * kRadius});
  }
  std::vector<Artefact::Flat> flats;
  for (const double side : {-1.0, 1.0}) {
    const Eigen::Isometry3d tilted = T * turn(side * kTilt_deg, Vector3d::UnitY());
    Artefact::Flat flat;
    flat.centre_mm =
        T * (size * Vector3d(side * kHalfWidth / 2, 0, kEaves + kHalfWidth * slope / 2));
    flat.along = tilted.linear().col(1);
    flat.across = tilted.linear().col(0);
    flat.normal = tilted.linear().col(2);
    flat.half_length_mm = size * 53;
    flat.half_width_mm = size * 26;
    flats.push_back(flat);
  }
  const AlignedBox3d box(size * Vector3d(-81, -61, 0), size * Vector3d(81, 61, 57));
  return {ExactHold("plate", transform(solid, T), box.transformed(T)), balls, flats};
}

bool isArtefact(const std::string& name) { return shelf().count(name) > 0; }

Artefact artefactNamed(const std::string& name) {
  const auto at = shelf().find(name);
  if (at == shelf().end()) throw std::invalid_argument("No artefact is called \"" + name + "\".");
  Artefact artefact = at->second();
  artefact.body.name = name;
  artefact.body.protrusion_mm = artefact.balls.empty() ? artefact.body.box_mm.max().z() : 0;
  for (const Artefact::Ball& ball : artefact.balls)
    artefact.body.protrusion_mm =
        std::max(artefact.body.protrusion_mm, ball.centre_mm.z() + ball.radius_mm);
  return artefact;
}

}  // namespace holdshelf
