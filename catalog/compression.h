// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "catalog/grip_model.h"
#include "proto/grip_verdict.pb.h"

namespace holdshelf {

/// Friction that one hand needs on a face which both arms squeeze from opposite sides.
///
/// Per hand, in body weights: the squeeze S goes straight into the face along the wall; half the
/// weight hangs on it, D = cos(b)/2 along the wall, across the squeeze, and O = sin(b)/2 out of it
/// at wall angle b. A face that slopes outwards by g and runs askew by a (tangent) has a normal
/// along (1, a, tan g) of squeeze, down and out, here with the sign of a that weakens the hold:
///
///     N = (S - a D - O tan g) / sqrt(1 + a^2 + tan^2 g),   T^2 = S^2 + D^2 + O^2 - N^2,   mu = T /
///     N.
///
/// @return  Infinity when the face is pushed off (N <= 0).
double compressionFriction(double slope_deg, double askew, double wall_angle_deg, double squeeze);

/// Two faces, of one hold or of two, squeezed at a span. `holds` compares the larger friction
/// needed with that of skin, borderline within skin's uncertainty and that of the measured slopes.
/// The rotations are those at which the left hand squeezes the first face straight to the right and
/// the right hand the second straight to the left.
CompressionPair compress(const Grip& first, const Grip& second, double span_mm,
                         double wall_angle_deg, const GripThresholds& thresholds);

/// Opposed faces (180 degrees apart, 5 degree steps) of one hold whose distance lies within the two
/// spans and neither of which is positive, least friction first. A face is positive when it is
/// incut for its pull beyond its uncertainty: positive lips are pulled on, not squeezed. The span
/// is the distance between the lips.
std::vector<CompressionPair> compressionPairs(const GripModel& model, double wall_angle_deg,
                                              double shortest_mm, double longest_mm);

/// The same for the left side of one hold and the right side of another, their bolts `apart_mm`
/// from each other on the level, each hold at the rotations that need less friction than their
/// neighbours.
std::vector<CompressionPair> compressionPairs(const GripModel& left, const GripModel& right,
                                              double apart_mm, double wall_angle_deg,
                                              double shortest_mm, double longest_mm);

/// The list for people: where to turn the holds to, the faces, and whether skin holds them.
/// @param limit  Most pairs to show; 0: all.
std::string compressionText(const CompressionList& list, const GripThresholds& thresholds,
                            int limit);

}  // namespace holdshelf
