// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "catalog/grip_kind.h"
#include "catalog/grip_thresholds.h"
#include "catalog/hand_model.h"
#include "proto/shape.pb.h"

namespace holdshelf {

/// Where the force comes from.
enum class GripSource : std::uint8_t { None, Edge, Pocket, Pinch };

/// Holding force of a hand on a hold, with what it is made of. For an edge or pocket
///
///     fraction = fingers * (contact + (bar - contact) * wrap) * slope
///
/// where each factor is the member of that name.
struct HoldingForce {
  GripKind kind = GripKind::None;
  GripSource source = GripSource::None;
  int index = -1;              ///< In Shape.grips, .pockets or .pinches.
  double fraction_of_jug = 0;  ///< Of the same hand on a large jug, 0 to 1.
  double sigma = 0;            ///< Standard uncertainty: the next three together.
  double sigma_measured = 0;   ///< From the measurement.
  double sigma_friction = 0;   ///< From skin friction between people and days.
  double sigma_pulp = 0;       ///< From contacts so short that pulp decides.
  Technique technique = Technique::OpenHand;
  int finger_count = 0;         ///< That stand, at least half of the best one's load.
  double fingers = 0;           ///< Factor: load share of the fingers by what each stands on.
  double contact = 0;           ///< Factor: contact length (edge_capacity.h).
  double wrap = 0;              ///< Factor: hooking behind the lip, 0 to 1.
  double bar = 0;               ///< Factor: roundness of the lip as a bar.
  double slope = 0;             ///< Factor: what friction leaves.
  double contact_mm = 0;        ///< Along the surface, root to where the pad leaves.
  double contact_depth_mm = 0;  ///< The same perpendicular to the wall.
  double slope_deg = 0;         ///< Of the contact below horizontal; negative: incut.
  double incut_deg = 0;         ///< Of the grip face against gravity.
  double pocket_width_mm = 0;   ///< Of a pocket, as the pull finds it.
  double pocket_depth_mm = 0, pocket_depth_sigma_mm = 0;  ///< The same, of its floor.
  bool sharp = false;                                     ///< The lip hurts.
  bool low_confidence = false;                            ///< Contact so short that pulp decides.
  bool borderline = false;  ///< A threshold of the word lies within its uncertainty.
};

/// Fingers along the real edge, each on the depth under it (Grip.run), strongest technique kept.
///
/// @param room_mm  Free height above the grip face (clearance.h), infinite in the open.
HoldingForce edgeForce(const Grip& grip, double wall_angle_deg, double room_mm,
                       const HandModel& hand, const GripThresholds& thresholds);

/// Fingers in a pocket; `askew_deg` is between the pull and the pocket's own pull.
HoldingForce pocketForce(const Pocket& pocket, double incut_deg, double askew_deg,
                         double wall_angle_deg, const HandModel& hand,
                         const GripThresholds& thresholds);

/// Thumb against fingers; the pull makes `pull_to_closing_deg` with the closing direction.
HoldingForce pinchingForce(const Pinch& pinch, double pull_to_closing_deg, double wall_angle_deg,
                           const HandModel& hand, const GripThresholds& thresholds);

/// Fingers go around it: its lip arc turns by bar_sweep_deg, over a depth of a finger at least and
/// more than its radius.
bool isBar(const Grip& grip, const GripThresholds& thresholds);

/// Tangent of the lip's climb sideways at a place of its run, 0 without a run.
double askewAt(const Grip& grip, double offset_mm);

}  // namespace holdshelf
