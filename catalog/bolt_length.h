// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "catalog/bolt_series.h"
#include "proto/bolt.pb.h"
#include "proto/hold.pb.h"
#include "proto/shape.pb.h"

namespace holdshelf {

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

/// A panel of the zone, where a hold might go as well.
struct NamedPanel {
  std::string name;
  Panel fixing;
};

/// What is to be fixed.
struct BoltQuestion {
  std::string hold, name, zone;
  int pieces = 1;               ///< Alike, each fixed so.
  std::vector<BoltSeat> seats;  ///< As measured.
  /// Measured by a person, goes before the scan's and means the same: from the hold's back to the
  /// face a cap head bears on, or to the narrow end of a countersunk head's cone.
  std::optional<double> seat_by_hand_mm;
  BoltHead head = BOLT_HEAD_UNSPECIFIED;  ///< Unset: as the seat asks.
  Panel panel;
  /// Not mounted yet, and the zone has panels fixed otherwise: the name of `panel`, and the others.
  std::string assumed_panel;
  std::vector<NamedPanel> elsewhere;
  Thread bolts = THREAD_UNSPECIFIED;  ///< Thread of the bolts at hand; unset: the panel's.
};

/// The hold's part of the question, from its last scan.
BoltQuestion boltQuestionOf(const Hold& hold);

/// Chooses the stocked length, or screws for a piece that has screw holes only, and says what is
/// wrong with it. Without `stock` every length of the series is there. A hold that may go onto
/// panels fixed otherwise is advised for each of them, with a warning where they differ.
/// A seat that was not measured gives no length and a warning to measure it by hand.
/// @throws BadInput  Impossible panel or seat; the sentence says which.
BoltAdvice adviseBolt(const BoltQuestion& question, const BoltSettings& settings,
                      const std::vector<BoltStock>* stock = nullptr);

/// The same for a bolt whose length is given: what it does in the T-nut, and what is wrong with it.
/// Length and label are unset where the seat is not known.
BoltAdvice judgeBolt(const BoltQuestion& question, const BoltSettings& settings,
                     const StockedLength& length);

/// The pieces' screw holes among the seats.
std::vector<BoltSeat> screwSeats(const std::vector<BoltSeat>& seats);
/// The seat that a bolt goes through; nullptr: none was measured.
const BoltSeat* boltSeatOf(const std::vector<BoltSeat>& seats);

/// All of a crate's bolts, drawn from one stock in order, and the bag to pack.
/// @throws BadInput  A line of the stock has no thread and the panels have both.
BoltBag packBolts(const std::vector<BoltQuestion>& questions, const BoltSettings& settings,
                  const std::vector<BoltStock>* stock = nullptr);

/// Checks thickness, barrel, flange and thread.
/// @throws BadInput  A panel that cannot be; `where` begins the sentence.
void checkPanel(const Panel& panel, const std::string& where);

/// What goes with every advice on bolts.
std::vector<std::string> boltCautions();

/// The bag as people read it.
std::string boltText(const BoltBag& bag);

}  // namespace holdshelf
