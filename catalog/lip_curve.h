// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <array>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "proto/shape.pb.h"

namespace holdshelf {

/// A line in a section: x is u (against the pull), y is z (away from the wall), mm.
using SectionPath = std::vector<Eigen::Vector2d>;

/// The lip of a section with the face before it and the grip face behind it, as search compares
/// lips: points on the section whose straight distance from one to the next is kStep_mm, walked
/// from the face over the lip to the root. (u, z) from the middle of the lip's turn, which is point
/// kBefore. Where a section ends at the wall, the curve goes on along the wall.
struct LipCurve {
  static constexpr int kBefore = 12, kAfter = 24, kPoints = kBefore + kAfter + 1;
  static constexpr double kStep_mm = 1;
  std::array<Eigen::Vector2f, kPoints> at_mm{};
};

/// Walks along a path in equal straight steps of LipCurve::kStep_mm, at most so many, as far as it
/// goes. The first point is the one `run_mm` along the path. Straight steps, because the length
/// along a surface grows with its noise.
SectionPath walkAlong(const SectionPath& path, double run_mm, int most_steps);

/// Cuts the curve out of a section of any source.
/// @param near_mm  The point of the path nearest to this one becomes the middle.
LipCurve lipCurveAt(SectionPath path, const Eigen::Vector2d& near_mm);

/// The middle of the turn that the measured lip makes, (u, z); of a sharp lip its outermost point.
Eigen::Vector2d lipMiddle(const Grip& grip);

/// Root mean square of the gaps between equally many points of two lines, taken in order, after
/// the shift that makes it smallest; nothing is turned, since an incut is an angle to the wall.
double gapAfterShift(std::span<const Eigen::Vector2f> a, std::span<const Eigen::Vector2f> b);

/// Neighbouring rotations whose lips are alike, and the lip of the middle one.
struct LipRun {
  static constexpr double kStep_deg = 5;
  int first_step = 0;  ///< Rotation in steps of kStep_deg, 0 to 71.
  int steps = 1;       ///< How many, at least 1; may run through 0.
  LipCurve curve;

  double from_deg() const { return first_step * kStep_deg; }
  double to_deg() const { return (first_step + steps - 1) * kStep_deg; }  ///< May pass 360.
  double middle_deg() const {
    const int middle_step = first_step + steps / 2;  // Of an even number the later one.
    return middle_step * kStep_deg;
  }
  /// Whether it holds a rotation of a range, degrees, which may pass 360.
  bool meets(double range_from_deg, double range_to_deg) const;
};

/// The lips of a shape by rotation: as few runs as keep every rotation's curve within 0.3 mm (root
/// mean square) of its run's, and at most kMostRuns, for which that distance is widened. Lips that
/// come and go more often than that around the hold cannot be joined, as none is where there is
/// none: then those stay that are least like others. Empty for a shape without sections or without
/// anything to hold; a section whose numbers are none, or those of no hold, has no lip.
constexpr std::size_t kMostRuns = 24;
std::vector<LipRun> lipRuns(const Shape& shape);

/// One byte a millimetre: the direction from point to point in 1/256 of a turn, chosen so that
/// errors don't add up (points are kept to about 0.01 mm). At most 1 + 24 * 38 = 913 bytes a hold.
constexpr std::size_t kPackedRun = 2 + LipCurve::kPoints - 1;
std::string packLips(std::span<const LipRun> runs);
/// @throws BadInput  The bytes are damaged.
std::vector<LipRun> unpackLips(std::string_view bytes);
/// One run of them, from its kPackedRun bytes.
LipRun unpackLip(const char* bytes);

}  // namespace holdshelf
