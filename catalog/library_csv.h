// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "catalog/library.h"

namespace holdshelf {

/// The library as a spreadsheet: one line a hold, in order of creation. What a person says comes
/// first (id, name, bin, set, maker, texture, count, colour, status, crate, zone, climb, new_note),
/// then `revision`, the number of the hold's events, then what was measured. `new_note` is always
/// empty: what is written there becomes a note (csv_import.h). Text that begins like a formula has
/// an apostrophe before it (csv.h).
std::string libraryCsv(const Library& library);

}  // namespace holdshelf
