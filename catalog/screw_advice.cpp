// SPDX-License-Identifier: Apache-2.0
#include "catalog/screw_advice.h"

#include <algorithm>
#include <string>

#include "catalog/measured_text.h"

namespace holdshelf {
namespace {

/// Wood screws; from memory, as sold.
constexpr int kScrews_mm[] = {16, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 120};

}  // namespace

std::vector<BoltSeat> screwSeats(const std::vector<BoltSeat>& seats) {
  std::vector<BoltSeat> screws;
  for (const BoltSeat& seat : seats)
    if (seat.screw() && seat.has_seat_height_mm()) screws.push_back(seat);
  return screws;
}

void adviseScrews(const std::vector<BoltSeat>& seats, const Panel& panel,
                  const BoltSettings& settings, BoltAdvice& advice) {
  double lowest = seats.front().seat_height_mm().value(), highest = lowest;
  for (const BoltSeat& seat : seats) {
    lowest = std::min(lowest, seat.seat_height_mm().value());
    highest = std::max(highest, seat.seat_height_mm().value());
  }
  *advice.mutable_seat_height_mm() = seats.front().seat_height_mm();
  const int holes = static_cast<int>(seats.size());
  advice.set_screws(holes);
  advice.set_pilot_mm(settings.pilot_share * settings.screw_diameter_mm);
  // The longest whose tip stays in the panel: the deeper, the better it holds.
  const double most_mm = lowest + panel.panel_mm() - settings.screw_tip_mm;
  int chosen = 0;
  for (const int length : kScrews_mm)
    if (length <= most_mm + kSameLength_mm) chosen = length;
  if (chosen == 0) {
    advice.add_warnings("No screw is short enough for a panel of " + mmText(panel.panel_mm()) +
                        ".");
    return;
  }
  advice.set_screw_mm(chosen);
  advice.set_screw(decimalText(settings.screw_diameter_mm, 0) + " × " + std::to_string(chosen));
  advice.set_label("screw " + advice.screw());
  advice.set_engagement_mm(chosen - highest);
  if (advice.engagement_mm() < settings.screw_hold_mm - kSameLength_mm)
    advice.add_warnings("The screw would hold " + mmText(advice.engagement_mm()) +
                        " in the panel, " + mmText(settings.screw_hold_mm) + " are wanted.");
  if (holes < settings.least_screws)
    advice.add_warnings(std::to_string(holes) +
                        " screw hole: " + std::to_string(settings.least_screws) +
                        " or more keep a piece from turning.");
  advice.add_notes("Drill " + mmText(advice.pilot_mm()) +
                   " first; drive by hand at the end, so that the piece does not crack.");
}

}  // namespace holdshelf
