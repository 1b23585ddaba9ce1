// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "catalog/grip_thresholds.h"
#include "catalog/hand_model.h"
#include "proto/hold.pb.h"
#include "proto/shape.pb.h"

namespace holdshelf {

/// What a hold is good for at each rotation under a straight downward pull: jug, edge, crimp,
/// pocket, sloper, pinch, foot-only, and "volume or feature" for what is too large to be a hold.
///
/// At each step of 5 degrees every way to hold it that deserves a word gets it (GripModel::hands);
/// where no hand grip within reach exceeds too_grabbable and a toe stands, it is foot-only, and
/// beside that only a pocket is named, or what lies within its uncertainty of too_grabbable.
/// Neighbouring steps of the same word become one range from the first to the last of them, which
/// passes 360 where it runs through 0; ranges of different words may overlap. The reason is that of
/// the range's strongest step. A range is borderline when its strongest step lies within its
/// uncertainty of a deciding threshold.
///
/// @param wall_angle_deg  Past vertical; the same hold's words change with it.
/// @return  Strongest first; empty when there is nothing to hold or stand on.
std::vector<GripWord> gripWords(const Shape& shape, const GripThresholds& thresholds = {},
                                double wall_angle_deg = 0, const HandModel& hand = handModel());

/// The sentence that goes with every answer about grips.
const std::string& gripCaution();
/// What goes with every advice near top edges.
const std::string& topOutCaution();
/// What goes with every advice on footholds.
const std::string& footCaution();

}  // namespace holdshelf
