// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>
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
  std::optional<Flat> flat;
};

/// A plate with five balls of 30 mm diameter at different heights, 50 to 130 mm apart, turned by
/// the angle on the mat.
Artefact ballPlate(double turn_deg);
/// A slab with a flat of 170 x 56 mm on top, tilted about its length.
Artefact flatSlab(double tilt_deg, double turn_deg);

/// By name: balls-0, balls-40, balls-80, flat-0, flat-15, flat-30; also known to holdNamed.
/// @throws std::invalid_argument  No such name.
Artefact artefactNamed(const std::string& name);
bool isArtefact(const std::string& name);

}  // namespace holdshelf
