// SPDX-License-Identifier: Apache-2.0
#include "catalog/bolt_length.h"

#include <algorithm>
#include <cmath>

#include "catalog/measured_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

double coneHeadHeight_mm(const BoltSeries& series) {
  return (series.cone_diameter_mm - series.diameter_mm) / 2 /
         std::tan(series.cone_deg * M_PI / 360);
}

}  // namespace

std::string mmText(double length_mm) { return decimalText(length_mm, 1) + " mm"; }

BoltLengths boltLengths(double seat_mm, double washer_mm, const Panel& panel,
                        double engagement_mm) {
  const double clamped_mm = seat_mm + washer_mm + panel.panel_mm();
  return {clamped_mm - panel.barrel_mm() + engagement_mm, clamped_mm + panel.flange_mm()};
}

const StockedLength* shortestFitting(std::span<const StockedLength> lengths, double least_mm) {
  const auto fits = std::find_if(lengths.begin(), lengths.end(), [&](const StockedLength& length) {
    return length.length_mm >= least_mm - kSameLength_mm;
  });
  return fits == lengths.end() ? nullptr : &*fits;
}

double countedSeat_mm(const BoltSeat& seat, const BoltSeries& series) {
  const double height_mm = seat.seat_height_mm().value();
  if (seat.kind() != BoltSeat::CONE) return height_mm + coneHeadHeight_mm(series);
  const double cone_deg = seat.has_cone_deg() ? seat.cone_deg().value() : series.cone_deg;
  const double bore_mm = seat.has_bore_mm() ? seat.bore_mm().value() : series.diameter_mm;
  return height_mm +
         std::max(0.0, series.cone_diameter_mm - bore_mm) / 2 / std::tan(cone_deg * M_PI / 360);
}

double enoughEngagement_mm(const BoltSeries& series, const BoltSettings& settings) {
  return std::max(settings.least_turns * series.pitch_mm, fullStrengthEngagement_mm(series));
}

void checkPanel(const Panel& panel, const std::string& where) {
  const auto check = [&](double value, double from, double to, const char* what) {
    if (!(value >= from && value <= to))
      throw BadInput(where + " has a " + what + " of " + mmText(value) + ": give " +
                     decimalText(from, 0) + " to " + decimalText(to, 0) + " mm.");
  };
  if (panel.thread() != M10 && panel.thread() != INCH_3_8_16)
    throw BadInput(where + " has no thread: give M10 or 3/8-16.");
  check(panel.panel_mm(), 9, 80, "thickness");
  check(panel.barrel_mm(), 5, 40, "T-nut barrel");
  check(panel.flange_mm(), 0, 6, "T-nut flange");
  if (panel.barrel_mm() > panel.panel_mm())
    throw BadInput(where + " has a T-nut barrel of " + mmText(panel.barrel_mm()) +
                   " in a panel of " + mmText(panel.panel_mm()) +
                   ": it would stand out in front; check both.");
}

}  // namespace holdshelf
