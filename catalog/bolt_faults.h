// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <vector>

#include "catalog/bolt_length.h"
#include "catalog/bolt_series.h"
#include "proto/bolt.pb.h"
#include "proto/shape.pb.h"

namespace holdshelf {

// What is wrong with a bolt in its seat and its T-nut, said as warnings of its advice: each with
// the numbers it rests on. Lengths are millimetres along the bolt, from where its length counts.

/// Bore, recess and cone against bolt, head and washer of the advice.
void checkHead(const BoltSeat& seat, const BoltSeries& series, const BoltSettings& settings,
               BoltAdvice& advice);

/// Sets the chosen length, what it holds of the T-nut and how far it runs past it, and says what is
/// wrong with that. The advice has its head and limits already.
void judgeLength(const StockedLength& chosen, const BoltSeries& series, const Panel& panel,
                 const BoltSettings& settings, BoltAdvice& advice);

/// No length at hand fits: says which would, and what the longest would hold.
/// @param stock  Whether a stock was said; else all that are made were tried.
void explainNone(const std::vector<StockedLength>& lengths, const BoltSeries& series,
                 const Panel& panel, bool stock, BoltAdvice& advice);

/// A seat known to ± is said to be doubtful when that would change the length.
/// @param chosen  One of `lengths`.
void checkDoubt(const Measured& seat, const StockedLength& chosen,
                const std::vector<StockedLength>& lengths, const BoltSettings& settings,
                const BoltSeries& series, BoltAdvice& advice);

}  // namespace holdshelf
