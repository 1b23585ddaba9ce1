// SPDX-License-Identifier: Apache-2.0
#pragma once
#include "catalog/grip_kind.h"
#include "catalog/grip_thresholds.h"
#include "catalog/hand_model.h"

namespace holdshelf {

/// What one finger pad gets out of an edge, as shares of what it gets on a large jug. All pure.

/// Force that the contact length allows on a flat face:
///
///     ceiling (1 - exp(-(contact / (share * distal phalanx))^k))
///
/// It rises with contact for every technique, in each technique's own form, and stays within the
/// published extremes between 10 and 40 mm (Amca et al., J Sports Sci 2012;30:669-677, 350.8 to
/// 575.7 N over the 668 N of a bar): the form itself is judgement, not that paper's regression.
double contactShare(Technique technique, double contact_mm, const HandModel& hand,
                    const GripThresholds& thresholds);

/// What friction leaves on a face that slopes by `slope_deg` outwards and whose lip runs askew of
/// the pull by `askew` (tangent of its climb sideways): 1 - (tan^2 slope + askew^2) / mu^2, and 0
/// beyond the slip limit. Incut faces (slope <= 0) only slip sideways.
double slopeShare(double slope_deg, double askew, double friction);

/// Horizontal bar of a diameter over the best bar: 1 up to bar_full_mm, falling beyond, scaled by
/// the hand's grip diameter. Young et al., Human Factors 2012;54:316-333: 51 mm is 8 to 13 % weaker
/// than 22 to 32 mm.
double barShare(double diameter_mm, const HandModel& hand, const GripThresholds& thresholds);

/// How far fingers hook behind the lip, 0 to 1: effective incut, contact beyond the last phalanx
/// and free height over the ledge each limit it.
double wrapShare(double incut_deg, double contact_mm, double room_mm, const HandModel& hand,
                 const GripThresholds& thresholds);

}  // namespace holdshelf
