// SPDX-License-Identifier: Apache-2.0
#include "catalog/bolt_faults.h"

#include <algorithm>
#include <cmath>
#include <string>

#include "catalog/bolt_stock.h"
#include "catalog/measured_text.h"

namespace holdshelf {

void checkHead(const BoltSeat& seat, const BoltSeries& series, const BoltSettings& settings,
               BoltAdvice& advice) {
  const auto surelyBelow = [&](const Measured& m, double limit) {
    return m.value() > 0 && m.value() + settings.confidence * m.sigma() < limit;
  };
  const bool cone = seat.kind() == BoltSeat::CONE, sunk = advice.head() == COUNTERSUNK;
  if (cone && !sunk)
    advice.add_warnings("A cap head does not match a cone seat: use a countersunk bolt.");
  if (!cone && sunk && seat.kind() == BoltSeat::FLAT)
    advice.add_warnings(
        "A countersunk head does not match a flat seat: it wedges the hole open; use a cap head.");
  // Scans from photos do not see it behind the seat's edge: nothing is wrong, but nothing is known.
  if (seat.has_recess_mm() && !seat.has_bore_mm())
    advice.add_notes(std::string("The bore does not show in the scan: try by hand whether ") +
                     series.name + " passes.");
  if (surelyBelow(seat.bore_mm(), series.diameter_mm))
    advice.add_warnings("The bore of " + measuredText(seat.bore_mm(), "mm") + " does not pass " +
                        series.name + ".");
  if (cone && sunk && seat.has_cone_deg() &&
      std::abs(seat.cone_deg().value() - series.cone_deg) >
          settings.cone_tolerance_deg + settings.confidence * seat.cone_deg().sigma())
    advice.add_warnings("The cone opens " + measuredText(seat.cone_deg(), "°") + ", the head is " +
                        decimalText(series.cone_deg, 0) + "°: it would bear on a ring only.");
  if (!cone && surelyBelow(seat.recess_mm(), series.cap_diameter_mm) && !sunk)
    advice.add_warnings("The recess of " + measuredText(seat.recess_mm(), "mm") +
                        " is too narrow for a head of " + mmText(series.cap_diameter_mm) + ".");
  else if (advice.washer_mm() > 0 && surelyBelow(seat.recess_mm(), series.washer_diameter_mm))
    advice.add_warnings("The recess of " + measuredText(seat.recess_mm(), "mm") +
                        " is too narrow for a washer of " + mmText(series.washer_diameter_mm) +
                        ".");
}

void judgeLength(const StockedLength& chosen, const BoltSeries& series, const Panel& panel,
                 const BoltSettings& settings, BoltAdvice& advice) {
  advice.set_length(chosen.text);
  advice.set_length_mm(chosen.length_mm);
  advice.set_label(boltLabel(series, chosen, advice.head()));
  const double mouth_mm = advice.through_mm() - panel.flange_mm() - panel.barrel_mm();
  const double inside_mm = chosen.length_mm - mouth_mm;
  advice.set_engagement_mm(std::clamp(inside_mm, 0.0, panel.barrel_mm()));
  advice.set_fills_tnut(inside_mm >= panel.barrel_mm() - kSameLength_mm);
  advice.set_past_mm(chosen.length_mm - advice.through_mm());
  const double turns = advice.engagement_mm() / series.pitch_mm;
  const double enough_mm = enoughEngagement_mm(series, settings);
  const bool tnut_too_short = panel.barrel_mm() < enough_mm - kSameLength_mm;
  if (tnut_too_short)
    advice.add_warnings("The T-nut's barrel of " + mmText(panel.barrel_mm()) + " holds " +
                        decimalText(panel.barrel_mm() / series.pitch_mm, 1) +
                        " turns: too short (" + mmText(enough_mm) +
                        " at least); no bolt cures that, it takes another insert.");
  if (!tnut_too_short && advice.engagement_mm() < enough_mm - kSameLength_mm)
    advice.add_warnings("Holds " + mmText(advice.engagement_mm()) + " of thread, " +
                        decimalText(turns, 1) + " turns: too short to engage (" +
                        mmText(enough_mm) + " at least).");
  else if (!advice.fills_tnut())
    advice.add_warnings("Holds " + mmText(advice.engagement_mm()) + " of the T-nut's " +
                        mmText(panel.barrel_mm()) + ": does not fill it.");
  if (advice.past_mm() > settings.past_limit_mm + kSameLength_mm)
    advice.add_warnings("Runs " + mmText(advice.past_mm()) +
                        " past the T-nut: too long; it can push the insert out or damage what lies "
                        "behind the panel.");
  if (chosen.length_mm - series.thread_mm > mouth_mm)
    advice.add_warnings("Its plain shank may reach the T-nut before the head clamps (" +
                        mmText(series.thread_mm) + " of thread).");
}

void explainNone(const std::vector<StockedLength>& lengths, const BoltSeries& series,
                 const Panel& panel, bool stock, BoltAdvice& advice) {
  std::string text =
      "No " + std::string(series.name) + (advice.head() == COUNTERSUNK ? " countersunk" : "") +
      " bolt " + (stock ? "in stock" : "made") + " is " + mmText(advice.least_mm()) + " or longer";
  const StockedLength* wanted = shortestFitting(series.lengths, advice.least_mm());
  if (stock && wanted != nullptr) text += ": get " + boltLabel(series, *wanted, advice.head());
  if (!lengths.empty()) {
    const double mouth_mm = advice.through_mm() - panel.flange_mm() - panel.barrel_mm();
    text += "; the longest, " + lengths.back().text + ", would hold " +
            mmText(std::max(0.0, lengths.back().length_mm - mouth_mm)) + " of thread";
  }
  advice.add_warnings(text + ".");
}

void checkDoubt(const Measured& seat, const StockedLength& chosen,
                const std::vector<StockedLength>& lengths, const BoltSettings& settings,
                const BoltSeries& series, BoltAdvice& advice) {
  const double more_mm = settings.confidence * seat.sigma();
  const StockedLength* longer = shortestFitting(lengths, advice.least_mm() + more_mm);
  if (longer == &chosen) return;
  advice.add_warnings("The seat is known to " + measuredText(advice.seat_height_mm(), "mm") + ": " +
                      (longer == nullptr ? "a longer bolt than there is"
                                         : boltLabel(series, *longer, advice.head())) +
                      " may be needed; try it by hand.");
}

}  // namespace holdshelf
