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
/// right, the longest phrase first. "any of" is one phrase:
///
/// | phrase | means |
/// |---|---|
/// | red, vivid red, dark green, ... | colour; several: any of them |
/// | jug, edge, crimp, pocket, sloper, pinch, foot-only (or with s) | grip word |
/// | NUMBER VALUE, e.g. edge depth 14..20, protrusion under 30 | limit on a measured number |
/// | VALUE deep, wide, incut, radius, proud, or fingers | the same, number last |
/// | on the shelf, in a crate, on the wall, in the wash, needs a look, retired | status |
/// | bin A3, set Harbour, named ledge | place and name; in "" where they have blanks |
/// | turned 60..120 | rotations, degrees counter-clockwise, through 0 as 330..30 |
/// | at 30 deg, on a 30 deg wall, vertical, slab of 10 | wall angle past vertical |
/// | pulled left, right, up, down or 45; undercling; side pull | pull |
/// | grip force VALUE | of a large jug, at that wall angle, rotation and pull |
/// | foot, foothold, not too grabbable | serves a toe and keeps hands off |
/// | lip like H-0123, at rotation 30 | by example |
/// | lip shaped radius 5 incut 12 depth 20 | by numbers, nearest first |
/// | within 1.5 mm | largest gap to the wanted lip |
/// | patch #be0032 | colour near this one |
/// | sorted by KEY, deepest first, lowest first, show 10 | order and number of hits |
///
/// VALUE: 14..20, 14 to 20, 12.., ..20, over 5, at least 5, under 30, at most 30, about 14 (14 and
/// its usual tolerance), 14 ± 1, or 14; units mm, cm, deg or ° may follow, cm are converted.
///
/// @throws BadInput  Points at the word that is not understood, and says what could stand there.
void addQueryLine(const std::string& line, Query& query);

}  // namespace holdshelf
