// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "tests/shapes/holds.h"

namespace holdshelf {

/// A body for acceptance tests: what is measured on it is known by construction. Frame H, mm.
struct Artefact {
  struct Ball {
    Eigen::Vector3d centre_mm;
    double radius_mm;
  };
  struct Flat {
    Eigen::Vector3d centre_mm;  ///< Of the measured rectangle.
    Eigen::Vector3d along, across, normal;
    double half_length_mm, half_width_mm;
  };

  ExactHold body;
  std::vector<Ball> balls;  ///< Balls on stems; every pair is a ball bar.
  std::vector<Flat> flats;
};

/// A plate with five balls of 30 mm diameter at different heights, 50 to 130 mm apart, turned by
/// the angle on the mat.
Artefact ballPlate(double turn_deg);
/// A slab with a flat of 170 x 56 mm on top, tilted about its length.
Artefact flatSlab(double tilt_deg, double turn_deg);

/// Four balls on stems around a roof of two flats that fall to either side by 20 degrees, turned by
/// the angle on the mat: all that one capture can contribute to an acceptance. At size 1 it is 160
/// x 120 x 56 mm, with balls of 24 mm diameter 80 to 161 mm apart and measured flats of 106 x 52
/// mm; everything grows with the size.
Artefact acceptancePlate(double size, double turn_deg);

/// By name: balls-0, balls-40, balls-80, flat-0, flat-15, flat-30, accept-a4-0, accept-a4-40,
/// accept-a4-80, accept-a3-0, accept-a3-40, accept-a3-80; also known to holdNamed.
/// @throws std::invalid_argument  No such name.
Artefact artefactNamed(const std::string& name);
bool isArtefact(const std::string& name);

}  // namespace holdshelf
