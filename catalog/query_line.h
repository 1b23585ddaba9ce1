// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "proto/query.pb.h"

namespace holdshelf {

/// Reads a line that asks as the trade talks, and adds what it says to a query:
///
///     red edge 14..20 mm deep, incut over 5, on the shelf, bin A3
///     lip like H-0123, protrusion at most 30 mm
///     foot at 15 deg and not too grabbable
///     grip force over 0.4 at 30 deg, turned 60..120
///
/// Case, commas, "and", "with", "a", "of" and the like don't matter; words are read from left to
/// right, the longest phrase first. Every phrase is in catalog/guide/search.md, which is also what
/// `holdshelf help search` prints.
///
/// @throws BadInput  Points at the word that is not understood, and says what could stand there.
void addQueryLine(const std::string& line, Query& query);

}  // namespace holdshelf
