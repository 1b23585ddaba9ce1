// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>
#include <string>
#include <vector>

#include "catalog/foot_model.h"
#include "catalog/hand_model.h"
#include "catalog/holding_force.h"
#include "catalog/mounting.h"
#include "proto/shape.pb.h"

namespace holdshelf {

/// A hand on a hold in a mounting, and the pull that found it.
struct HandAnswer {
  HoldingForce force;
  double pull_deg = 0;
};

/// Answers what hands and feet get from one measured shape in any mounting. Keeps a reference to
/// the shape, which must outlive it. Const use from several threads is safe.
class GripModel {
 public:
  static constexpr int kSteps = 72;  ///< Of 5 degrees around.

  explicit GripModel(const Shape& shape, const HandModel& hand = handModel(),
                     const GripThresholds& thresholds = {});

  /// Every way to hold it under one pull that deserves a word, strongest first, each word once: a
  /// hold may be several things at the same rotation. A pocket is named from min_hand_fraction on
  /// (an opening for fingers is there to be used), any other word also only from other_word_share
  /// of the strongest on. The first one is what hand() gives, and is there even when it deserves no
  /// word; empty when nothing can be held at all. Grips are looked up at the nearest 5 degree step
  /// of the pull in the hold frame.
  std::vector<HoldingForce> hands(const Mounting& mounting) const;

  /// Strongest of edges, pockets and pinches for one pull.
  HoldingForce hand(const Mounting& mounting) const;

  /// Strongest hand grip over every pull within hand_pull_fan_deg of straight down. The pull leans
  /// out of the wall by the wall angle whatever its direction in the plane: gravity for the
  /// straight one, judgement for the others.
  HandAnswer withinReach(double rotation_deg, double wall_angle_deg) const;

  /// Best stand of a toe; the foot always loads straight down.
  ToeHold toe(double rotation_deg, double wall_angle_deg) const;

  /// In words and numbers, e.g. "flat edge 14.2 +- 0.3 mm deep over 62 mm: four fingers, 0.61 of a
  /// jug" (with a real plus-minus sign).
  std::string explain(const HoldingForce& force) const;
  std::string explain(const ToeHold& toe) const;

  const Shape& shape() const { return shape_; }
  const HandModel& handSizes() const { return hand_; }
  const GripThresholds& thresholds() const { return thresholds_; }

 private:
  /// Of each kind the strongest, by GripKind, edges, pockets or pinches under one pull.
  using Strongest = std::array<HoldingForce, kGripKinds>;
  void addEdges(int step, double wall_angle_deg, Strongest& of_kind) const;
  void addPockets(int step, const Mounting& mounting, Strongest& of_kind) const;
  void addPinches(const Mounting& mounting, Strongest& of_kind) const;

  const Shape& shape_;
  HandModel hand_;
  GripThresholds thresholds_;
  std::array<std::vector<int>, kSteps> grips_;  ///< Indices in Shape.grips a step.
  std::vector<double> room_mm_;                 ///< Free height above each grip.
  std::vector<bool> pocket_floor_;              ///< Whether a pocket names each grip.
  std::vector<double> floor_incut_deg_;         ///< Of each pocket's floor.
};

}  // namespace holdshelf
