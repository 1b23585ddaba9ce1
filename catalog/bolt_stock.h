// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <utility>
#include <vector>

#include "catalog/bolt_length.h"
#include "catalog/bolt_series.h"
#include "proto/bolt.pb.h"

namespace holdshelf {

/// What a bolt is called in an advice, a bag and a stock: "M10 × 55", "3/8-16 × 2 1/4 in
/// countersunk". A bag holds both heads of one length: the label keeps them apart.
std::string boltLabel(const BoltSeries& series, const StockedLength& length, BoltHead head);

/// Whether a line of the stock has bolts like these left; a line without a head has cap heads. Its
/// thread is never guessed here (see withThreads).
bool isLike(const BoltStock& line, Thread thread, BoltHead head);

/// The stock with its thread said on every line: where it was left out, the T-nuts' only one.
/// @param metric, inch  Whether there are M10 T-nuts, and 3/8-16 ones, where the bolts go.
/// @throws BadInput  A line has no thread and the T-nuts have both.
std::vector<BoltStock> withThreads(std::vector<BoltStock> stock, bool metric, bool inch);

/// The lengths there are, rising: of the stock where one was said, else (nullptr) of the series.
std::vector<StockedLength> lengthsAtHand(const BoltSeries& series, const BoltSettings& settings,
                                         const std::vector<BoltStock>* stock, BoltHead head);

}  // namespace holdshelf
