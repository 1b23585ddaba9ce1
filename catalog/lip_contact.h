// SPDX-License-Identifier: Apache-2.0
#pragma once
#include "proto/shape.pb.h"

namespace holdshelf {

/// An edge in section, as measured: a straight grip face from the root outwards, then the lip arc.
///
///     u (against the pull)
///     ^   root
///     |    \            .-- lip arc, radius r
///     |     \________ .'  \        incut a > 0: the face rises from root to lip by a
///     |      grip face     |       (here drawn flat, a = 0)
///     +--------------------+--> z (away from the wall)
///     wall    depth D
struct LipProfile {
  double depth_mm = 0;   ///< z of the lip's outermost point minus z of the root.
  double radius_mm = 0;  ///< Of the lip arc.
  double incut_deg = 0;  ///< Of the grip face to the wall normal, positive is incut.
};

/// The profile of a measured grip. On a rounding that is all arc the measured incut is the mean
/// slope of its inner part; the arc's own end, sweep - 90, is then the slope at the root.
LipProfile profileOf(const Grip& grip);

/// Width of the edge at four fifths of that profile's depth: edge_width_mm, or the run's own where
/// the fit's depth is not believed.
double bearingWidth_mm(const Grip& grip);

/// u of the middle of the part that bears on an upright wall: where the hand is. On a round lip
/// that is far above its outermost point, which is lip_height_mm.
double handHeight_mm(const Grip& grip, double end_slope_deg);

/// What of an edge bears a pad or a toe at a wall angle.
struct LipContact {
  double length_mm = 0;  ///< Chord from the root to the contact's end; 0: nothing bears.
  double depth_mm = 0;   ///< The same perpendicular to the wall.
  double slope_deg = 0;  ///< Of that chord below horizontal, outwards; negative: incut.
  double incut_deg = 0;  ///< Of the grip face against gravity: incut minus wall angle.
};

/// Tilts the edge by the wall angle and finds the part that bears.
///
/// Wall frame: u up the wall, z out of it. A wall past vertical by b turns both about the
/// horizontal, so that gravity, straight down, has the components (-cos b, +sin b): down the wall
/// and, when overhanging, out of it:
///
///     vertical wall, b = 0      overhang b
///
///          ^ u                   u ^ the wall leans over the climber:
///          |                         . its u axis tips outwards by b,
///          |                           .
///          +---> z                       +
///          |                              ` . z axis tips down by b
///          v gravity                      |   `>
///                                         v gravity
///
/// With up v = u cos b - z sin b and outwards w = u sin b + z cos b a face of incut a, that runs
/// (sin a, cos a) from root to lip, rises by a - b: the effective incut is a - b. A flat edge
/// slopes by b on an overhang of b, and gains |b| on a slab.
///
/// Along the profile the slope theta (wall frame, positive falls outwards) is -a on the face and
/// grows along the arc. Contact ends where theta + b reaches the end slope, so that a fillet r on a
/// flat edge of a vertical wall loses r (1 - sin 45) = 0.2929 r of depth at an end slope of 45.
/// An arc too large for the depth begins at the root with sin(theta) = 1 - D/r.
///
/// @param end_slope_deg  Steepest slope against horizontal that still bears.
/// @param longest_mm     Longest contact of the limb; the inner, flatter part is taken.
LipContact contactOf(const LipProfile& profile, double wall_angle_deg, double end_slope_deg,
                     double longest_mm);

}  // namespace holdshelf
