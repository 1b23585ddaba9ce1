// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <functional>
#include <string>
#include <vector>

#include "catalog/library.h"
#include "mesh/progress.h"
#include "proto/gaps.pb.h"

namespace holdshelf {

/// Bounds between the size and profile words. Judgements: no source.
struct StockBounds {
  double small_mm = 60, medium_mm = 120, large_mm = 200;  ///< Longest extent, below which.
  double low_mm = 30, middle_mm = 60;                     ///< Protrusion, below which.
};

/// The kind that a hold counts as: colour (basic term), grip (word of its best grip), size and
/// profile. Words are "none" where the hold has not been scanned.
StockLine kindOf(const Hold& hold, const StockBounds& bounds = {});

/// Reads a target table: CSV with the columns colour, grip, size, profile (words as kindOf gives
/// them; "*" or empty: any), want (pieces, at least) and, where wished, most (pieces, at most;
/// twice what is wanted where it is empty or missing). A piece counts on every line that it fits.
/// @throws BadInput  An unknown column or word, or a count that is no number; names file and line.
std::vector<StockLine> parseTargets(const std::string& csv, const std::string& file);

/// The table of a report, to start a target table from.
std::string targetsCsv(const StockReport& report);

/// What the library has. With targets: a line each, the thinnest first (by share of what is
/// wanted); without: a line for each kind there is.
/// @param worn  Says whether a hold counts as worn beside those that need a look; may be empty.
/// @throws Interrupted  `progress` said stop.
/// @param counts  Which holds are looked at, e.g. those of one site; empty: all.
StockReport stockOf(const Library& library, const std::vector<StockLine>& targets,
                    const std::function<bool(const Hold&)>& worn, const StockBounds& bounds = {},
                    const std::function<bool(const Hold&)>& counts = {},
                    const Progress& progress = {});

std::string stockText(const StockReport& report);

}  // namespace holdshelf
