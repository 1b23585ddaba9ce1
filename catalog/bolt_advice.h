// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "catalog/bolt_length.h"
#include "catalog/bolt_series.h"
#include "proto/bolt.pb.h"
#include "proto/hold.pb.h"
#include "proto/shape.pb.h"

namespace holdshelf {

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

/// The seat that a bolt goes through: of several, the one nearest to the hold's origin, which is
/// its bolt axis; nullptr: none was measured.
const BoltSeat* boltSeatOf(const std::vector<BoltSeat>& seats);

/// Whether there are M10 T-nuts, and 3/8-16 ones, where the holds go or may go.
struct ThreadsThere {
  bool metric = false, inch = false;
};
ThreadsThere threadsOf(const std::vector<BoltQuestion>& questions);

}  // namespace holdshelf
