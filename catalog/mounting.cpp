// SPDX-License-Identifier: Apache-2.0
#include "catalog/mounting.h"

#include <cmath>

namespace holdshelf {

double wrap360(double angle_deg) {
  const double wrapped = std::fmod(angle_deg, 360.0);
  const double positive = wrapped < 0 ? wrapped + 360 : wrapped;
  return positive >= 360 ? 0 : positive;  // A tiny negative angle rounds up to 360.
}

double angleBetween_deg(double a_deg, double b_deg) {
  const double difference = wrap360(a_deg - b_deg);
  return difference > 180 ? 360 - difference : difference;
}

double downPullRotation_deg(const Mounting& mounting) {
  return wrap360(mounting.rotation_deg - mounting.pull_deg);
}

}  // namespace holdshelf
