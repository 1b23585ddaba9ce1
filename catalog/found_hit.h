// SPDX-License-Identifier: Apache-2.0
#pragma once
#include "catalog/hold_numbers.h"
#include "catalog/lip_index.h"
#include "catalog/query_match.h"
#include "proto/query.pb.h"

namespace holdshelf {

/// A hold as an answer shows it: its names, words, what hand and foot get where the query asks, and
/// its numbers in the given rows. Numbers asked about and sorted by come first, then what every
/// list shows; what it has none of is left out.
FindHit hitOf(const QueryMatcher& matcher, const SearchEntry& entry, const ChosenRows& rows);

/// The same for a hold that was found by its lip: in the row that answers where that lip is, with
/// the wanted and the found line laid on each other.
FindHit lipHitOf(const QueryMatcher& matcher, const SearchEntry& entry, const LipProbe& probe,
                 const LipFound& found);

/// Value of a number in the rows that answer, in the kind's unit; NaN where the hold has none.
double chosenValue(const SearchEntry& entry, const ChosenRows& rows, const NumberKind& kind);

}  // namespace holdshelf
