// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>

#include "catalog/library.h"
#include "proto/query.pb.h"

namespace holdshelf {

/// Answers a query from the rows of a large shared library, without reading all of them: status,
/// place, colour, name and whole-hold numbers are the database's to filter by, in the order of
/// keys, or of ids where the query sorts by those; what it gives is held against the whole query
/// here, until as many holds as were asked for match. `matched` then counts only those, and the
/// explanation says that there may be more.
///
/// nullopt where that is no help and the index in memory (find.h) is to answer: the library is in a
/// folder or small, a lip is wanted, all or another order is asked for, or too few match to be met
/// soon.
std::optional<FindResult> findInDatabase(const Library& library, const Query& query);

}  // namespace holdshelf
