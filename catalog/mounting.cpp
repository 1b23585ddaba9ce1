// SPDX-License-Identifier: Apache-2.0
#include "catalog/mounting.h"

#include <cmath>

#include "mesh/bad_input.h"

namespace holdshelf {

double wrap360(double angle_deg) {
  if (!std::isfinite(angle_deg)) return 0;
  const double wrapped = std::fmod(angle_deg, 360.0);
  const double positive = wrapped < 0 ? wrapped + 360 : wrapped;
  return positive >= 360 ? 0 : positive;  // A tiny negative angle rounds up to 360.
}

double angleBetween_deg(double a_deg, double b_deg) {
  const double difference = wrap360(a_deg - b_deg);
  return difference > 180 ? 360 - difference : difference;
}

void checkRotation(double rotation_deg) {
  if (!(rotation_deg >= -360 && rotation_deg <= 360))
    throw BadInput("A hold is turned by -360 to 360 degrees: give an angle between them.");
}

void checkLean(double wall_angle_deg) {
  if (!(wall_angle_deg >= -90 && wall_angle_deg <= 90))
    throw BadInput("A wall leans by -90 to 90 degrees past vertical: give an angle between them.");
}

double downPullRotation_deg(const Mounting& mounting) {
  return wrap360(mounting.rotation_deg - mounting.pull_deg);
}

}  // namespace holdshelf
