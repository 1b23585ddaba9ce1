// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <functional>
#include <optional>
#include <vector>

#include "catalog/lip_probe.h"
#include "catalog/search_row.h"
#include "proto/query.pb.h"

namespace holdshelf {

/// The lip that a query wants, made ready to be laid on stored ones.
/// @param like  The lip of the hold that the query names; called only where it names one.
/// @throws BadInput  It does not say one of the three: a hold, a drawn section, or a radius with an
///                   incut; or what it says is no lip (lip_probe.h).
LipProbe probeOf(const LipQuery& wanted, const std::function<LipCurve()>& like);

/// The lip that stands for a hold: of its runs the one that has this rotation, or comes nearest to
/// it in degrees.
/// @param runs        At least one.
/// @param wanted_deg  Without it, the rotation where the hold holds best under a downward pull on a
///                    vertical wall; where that is not known, where its edge is deepest.
LipCurve standingLip(const SearchRow& row, const std::vector<LipRun>& runs,
                     std::optional<double> wanted_deg);

}  // namespace holdshelf
