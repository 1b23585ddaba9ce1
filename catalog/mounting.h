// SPDX-License-Identifier: Apache-2.0
#pragma once

namespace holdshelf {

/// How a hold hangs on the wall and how a limb pulls it.
struct Mounting {
  double rotation_deg = 0;    ///< Counter-clockwise to the climber, on its bolt.
  double wall_angle_deg = 0;  ///< Past vertical: positive overhangs, negative is a slab.
  /// In-plane direction in which the limb pushes the hold, counter-clockwise to the climber from
  /// straight down: 0 down, 90 to the climber's right, -90 to the left, 180 up (undercling).
  double pull_deg = 0;
};

/// The rotation at which a plain downward pull is the same pull in the hold frame:
/// rotation - pull, in [0, 360). A measurement by rotation so answers for every pull.
double downPullRotation_deg(const Mounting& mounting);

/// An angle brought into [0, 360).
double wrap360(double angle_deg);

/// Smallest unsigned difference of two directions, in [0, 180].
double angleBetween_deg(double a_deg, double b_deg);

/// @throws BadInput  No hold is turned so: it is not between -360 and 360, or no number.
void checkRotation(double rotation_deg);
/// @throws BadInput  No wall leans so: it is not between -90 and 90, or no number.
void checkLean(double wall_angle_deg);

}  // namespace holdshelf
