// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "proto/event.pb.h"

namespace holdshelf {

/// What an event from elsewhere says that cannot be so: a number that is none, a length beyond the
/// largest hold, more grips than a measurement makes, a status that nobody knows, a hold that
/// is created with scans, walls that could not be described here. What is made here was measured,
/// or looked at when it came in.
///
/// Every number of every message in it is looked at, so that a new field is, too. In a shape a name
/// that ends in _mm, _mm2, _mm3 is a length, an area, a volume; one that ends in _deg is an angle
/// anywhere.
/// @return  "scanned.shape.grips[0].edgeWidthMm.value is 4e+09, and ...", named as in events.json;
///          empty: nothing.
std::string untruthIn(const Event& event);

/// @param from  Where it comes from, for the sentence: a folder's or library's name.
/// @throws BadInput  It says what cannot be so.
void checkForeign(const Event& event, const std::string& from);

}  // namespace holdshelf
