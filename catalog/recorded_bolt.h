// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "catalog/bolt_advice.h"

namespace holdshelf {

/// A bolt, or screws, as a person wrote them down.
struct RecordedBolt {
  std::string thread;                     ///< As written, "M10" or "3/8-16"; empty for screws.
  BoltHead head = BOLT_HEAD_UNSPECIFIED;  ///< Where it was said.
  StockedLength length;
  int screws = 0;  ///< 0: a bolt. Where the number of screws was not said: 1.
  bool screws_counted = false;
  double screw_mm = 0;  ///< Of screws, their diameter.
};

/// Reads "M10 × 55", "m10x55 countersunk", "3/8-16 × 2 1/4 in", "2 screws 5 × 20" and what lies
/// between. A thread that T-nuts here do not have ("M8 × 40") is read as well.
/// @return  nullopt: it says something else, or more than 80 bytes.
std::optional<RecordedBolt> readBolt(const std::string& text);

/// What is wrong with the bolt that is in a panel.
struct BoltFault {
  std::string grade;    ///< "too short", "wrong thread", "not judged".
  double severity = 0;  ///< Grows with each mm that it is off.
  std::string reason;   ///< In numbers.
};

/// Compares what was recorded with what the question's panel and seat need: thread, engagement, how
/// far it runs past the T-nut, head; for screws the tip, the hold in the panel, their number and
/// whether they pass through the holes (not whether their heads bear). Too short and too long are
/// judged at the measured seat; what a seat known to ± leaves open counts for the bolt only where
/// it is a matter of filling the T-nut. Screws alone are no fixing for a hold with a bolt seat.
/// @return  nullopt: nothing is wrong with it. What cannot be read, or has no measured seat to be
///          judged by, is a fault of grade "not judged".
std::optional<BoltFault> judgeRecorded(const std::string& text, const BoltQuestion& question,
                                       const BoltSettings& settings);

}  // namespace holdshelf
