// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "proto/shape.pb.h"

namespace holdshelf {

/// One line a measured mesh, for spreadsheets: comma-separated, cells of text as in csv.h,
/// lengths in mm, each number followed by its standard uncertainty. The edge is the best of the
/// map.
std::string shapeCsvHeader();
std::string shapeCsvRow(const MeasuredFile& file);

/// The same for people: name, size, best edge, or what went wrong.
std::string shapeLine(const MeasuredFile& file);

/// Proto3 JSON without line breaks.
std::string oneLineJson(const MeasuredFile& file);

}  // namespace holdshelf
