// SPDX-License-Identifier: Apache-2.0
#pragma once
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

/// Two faces, of one hold or of two, squeezed at a span. A pair is one of compression only when
/// neither face is positive (incut) for its pull: positive lips are pulled on, not squeezed.
/// `holds` compares the larger friction needed with that of skin, borderline within its sigma.
CompressionPair compress(const Grip& first, const Grip& second, double span_mm,
                         double wall_angle_deg, const GripThresholds& thresholds);

/// Opposed faces (180 degrees apart, 5 degree steps) of one hold whose distance lies within the two
/// spans and neither of which is positive, best first. The span is the distance between the lips.
std::vector<CompressionPair> compressionPairs(const GripModel& model, double wall_angle_deg,
                                              double shortest_mm, double longest_mm);

}  // namespace holdshelf
