// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <vector>

#include "mesh/registration.h"
#include "proto/shape.pb.h"

namespace holdshelf {

/// A part of the surface that is not compared, all along z: a bolt hole.
struct Spared {
  Eigen::Vector2d centre_mm;
  double radius_mm = 0;
};

struct DeviationOptions {
  double patch_mm = 2.5;        ///< Deviations are averaged over patches of about this radius.
  double limit_sigmas = 4.5;    ///< A patch counts as changed beyond this many of its own spreads.
  double least_limit_mm = 0.1;  ///< Whatever the spread: below this no scan is trusted.
  double least_piece_mm3 = 4;   ///< Smaller lost pieces are not listed.
  /// The foot is left out: everything below this height, or below foot_share of a lower hold. There
  /// photos see a hold against its mat at a grazing angle and rebuild it worse, by up to 1 mm.
  double foot_z_mm = 12, foot_share = 0.3;
  /// Hollows are left out too: where less than this share of the directions a surface faces (by
  /// cosine) lead freely to the climber's side, few photos see it. So are holes that are no wider
  /// than this anywhere, a bolt's among them: nothing but a single finger goes in.
  double least_open = 0.25, narrow_hole_mm = 28;
  double above_gained = 1.5;  ///< A lost piece must be so many times the largest or the deepest
                              ///< gained one.
  std::vector<Spared> spared;
};

/// A connected part of the surface that lies deeper than it did.
struct LostPiece {
  Eigen::Vector3d centre_mm = Eigen::Vector3d::Zero();  ///< Frame of the baseline.
  Measured volume_mm3;
  double area_mm2 = 0;
  double deepest_mm = 0;
};

/// How a later scan's surface differs from the baseline's.
struct Deviation {
  /// At each vertex of the baseline, patch mean, along its normal; negative: material is gone. NaN
  /// where it was not compared (the back, the rim, guesswork).
  std::vector<float> signed_mm;
  double offset_mm =
      0;  ///< Taken out: both surfaces' common offset, which is calibration, not wear.
  double spread_mm = 0;  ///< Robust spread of the patch means: what unworn surface shows.
  double limit_mm = 0;   ///< Detection limit: no patch with a smaller change is called lost.
  /// Largest and deepest piece that seems to have grown. Material does not grow, so that is what
  /// two scans' errors amount to, and a loss must be clearly larger.
  double gained_mm3 = 0, gained_mm = 0;
  std::vector<LostPiece> gained;  ///< Those pieces, with volume and depth as if lost.
  Measured lost_mm3;              ///< Sum over the lost pieces.
  std::vector<LostPiece> pieces;  ///< Largest first.
};

/// Compares surfaces that were registered (baseline = a, scan = b).
Deviation deviationOf(const RegistrationTarget& baseline, const RegistrationTarget& scan,
                      const Registered& registered, const DeviationOptions& options = {});

}  // namespace holdshelf
