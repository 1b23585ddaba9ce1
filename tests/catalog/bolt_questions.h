// SPDX-License-Identifier: Apache-2.0
// Panels, seats and stock to ask about bolts with.
#pragma once
#include <string>
#include <vector>

#include "catalog/bolt_advice.h"

namespace holdshelf::test {

/// A wall: thickness, T-nut barrel and flange in mm.
inline Panel panel(Thread thread, double panel_mm, double barrel_mm, double flange_mm = 0) {
  Panel p;
  p.set_thread(thread);
  p.set_panel_mm(panel_mm);
  p.set_barrel_mm(barrel_mm);
  p.set_flange_mm(flange_mm);
  return p;
}

/// A flat seat so high over the wall, with a bore and a recess that take any bolt of these.
inline BoltSeat flatSeat(double height_mm, double sigma_mm = 0) {
  BoltSeat seat;
  seat.set_kind(BoltSeat::FLAT);
  seat.mutable_seat_height_mm()->set_value(height_mm);
  seat.mutable_seat_height_mm()->set_sigma(sigma_mm);
  seat.mutable_bore_mm()->set_value(11);
  seat.mutable_recess_mm()->set_value(22);
  return seat;
}

/// The advice for a hold with one flat seat.
inline BoltAdvice advise(double seat_mm, const Panel& p, const BoltSettings& settings = {},
                         const std::vector<BoltStock>* stock = nullptr) {
  BoltQuestion question;
  question.seats = {flatSeat(seat_mm)};
  question.panel = p;
  return adviseBolt(question, settings, stock);
}

/// Whether a warning has these words.
inline bool warns(const BoltAdvice& advice, const std::string& word) {
  for (const std::string& warning : advice.warnings())
    if (warning.find(word) != std::string::npos) return true;
  return false;
}

/// A line of the stock, of cap heads, its thread unsaid.
inline BoltStock line(const std::string& length, int count) {
  BoltStock stock;
  stock.set_length(length);
  stock.set_count(count);
  return stock;
}

}  // namespace holdshelf::test
