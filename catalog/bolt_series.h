// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "proto/bolt.pb.h"

namespace holdshelf {

/// One stocked length: millimetres, and as it is written on the box ("55", "2 1/4").
struct StockedLength {
  double length_mm = 0;
  std::string text;
};

/// What a thread's bolts are like. Lengths mm. Published dimensions, sources in bolt_series.cpp.
struct BoltSeries {
  Thread thread = THREAD_UNSPECIFIED;
  const char* name = "";  ///< "M10", "3/8-16".
  bool inch = false;
  double diameter_mm = 0;  ///< d.
  double pitch_mm = 0;
  double clearance_mm = 0;     ///< Narrowest hole the shank is made to pass.
  double cap_diameter_mm = 0;  ///< Largest cylindrical head.
  double cap_height_mm = 0;
  double cone_diameter_mm = 0;         ///< Of a countersunk head, theoretical (sharp-edged).
  double cone_deg = 90;                ///< Its full angle.
  double washer_diameter_mm = 0;       ///< Plain washer.
  double thread_mm = 0;                ///< Threaded length of long bolts, from the tip.
  std::vector<StockedLength> lengths;  ///< Rising.
};

/// @throws std::invalid_argument  THREAD_UNSPECIFIED.
const BoltSeries& boltSeries(Thread thread);
/// Engagement at which bolt and insert of equal strength shear no sooner than the bolt tears, from
/// the thread's basic sizes: Le = 2 At / (pi D1 (1/2 + 0.57735 (d2 - D1) / P)).
/// Source: Machinery's Handbook, length of engagement for equal materials.
double fullStrengthEngagement_mm(const BoltSeries& series);
/// "M10", "3/8-16" and the usual ways to write them. @throws BadInput  None of them.
Thread threadFromText(const std::string& text);
/// 2 1/4, 3/8, 55, 47.5 in the thread's unit, as millimetres.
/// @throws BadInput  Not a length.
double boltLength_mm(Thread thread, const std::string& text);

}  // namespace holdshelf
