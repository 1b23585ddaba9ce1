// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "proto/hold.pb.h"
#include "proto/query.pb.h"

namespace holdshelf {

/// A hold as a page of text: what it is, its numbers with uncertainty, what it is good for and at
/// which rotations, where it is, and the cautions that belong to it.
/// Whose the hold is and where it was lent to; empty where there is one site.
std::string siteText(const Hold& hold);
std::string showText(const Hold& hold);

/// The numbers of one shape as lines of text, the edges one a line in steps of `step_deg`.
std::string shapeText(const Shape& shape, double step_deg = 30);

/// "0° to 60°", "330° through 0° to 20°", "at 45°", or "at any rotation" for a whole turn.
std::string rotationText(double from_deg, double to_deg);

/// What was found as a table, or the nearest misses and why they are none.
std::string findText(const FindResult& result);

/// Said wherever a scan might be taken for an inspection.
extern const char* const kScanCaution;

}  // namespace holdshelf
