// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>
#include <span>
#include <string>

#include "catalog/bolt_series.h"
#include "proto/bolt.pb.h"
#include "proto/shape.pb.h"

namespace holdshelf {

/// Sums of lengths that are equal on paper differ by less.
constexpr double kSameLength_mm = 1e-6;

/// A length along a bolt, with one decimal: "12.3 mm".
std::string mmText(double length_mm);

/// Numbers the choice rests on. Where no publication gives one, the default is a judgement.
struct BoltSettings {
  /// E, the thread to engage; unset: the whole T-nut barrel (a maker's rule).
  std::optional<double> engagement_mm;
  double least_turns = 6;     ///< Threads below which a bolt is too short (a maker's rule);
                              ///< never less than fullStrengthEngagement_mm.
  double past_limit_mm = 10;  ///< Beyond the T-nut before it is said to be too long: judgement.
  double washer_mm = 0;       ///< Thickness under a cap head; 0: none.
  double cone_tolerance_deg = 10;  ///< Of a cone seat from the head's angle: judgement.
  double confidence = 2;     ///< Standard uncertainties of the seat that could change the length.
  bool half_inches = false;  ///< Inch bolts in 1/2 in steps only, as walls often stock them.
  // Screws for small pieces: common practice, no source.
  double screw_diameter_mm = 5;
  double screw_hold_mm = 10;  ///< Of the screw in the panel, at least: twice its diameter.
  double screw_tip_mm = 2;    ///< Of panel left behind the tip.
  double pilot_share = 0.7;   ///< Pilot hole over screw diameter, in plywood.
  int least_screws = 2;       ///< Fewer let the piece turn.
};

/// The lengths a bolt must have. With s the seat height, w washer, p panel, b T-nut barrel, E
/// engagement, f flange:
///   L_min = s + w + (p - b) + E,   L_through = s + w + p + f.
struct BoltLengths {
  double least_mm = 0, through_mm = 0;
};
BoltLengths boltLengths(double seat_mm, double washer_mm, const Panel& panel, double engagement_mm);

/// The shortest of the lengths (rising) that is not below `least_mm`; nullptr when all are shorter.
const StockedLength* shortestFitting(std::span<const StockedLength> lengths, double least_mm);

/// Height of the face from which the bolt's length counts: a flat seat's own; on a cone the rim on
/// which a countersunk head of this diameter lies flush, (dk - bore) / 2 / tan(cone / 2) above the
/// narrow end.
double countedSeat_mm(const BoltSeat& seat, const BoltSeries& series);

/// Thread of the T-nut that a bolt must hold at the least.
double enoughEngagement_mm(const BoltSeries& series, const BoltSettings& settings);

/// Checks thickness, barrel, flange and thread.
/// @throws BadInput  A panel that cannot be; `where` begins the sentence.
void checkPanel(const Panel& panel, const std::string& where);

}  // namespace holdshelf
