// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "catalog/library_store.h"
#include "catalog/postgres.h"

namespace holdshelf {

// A hold's row as the table `hold` of a library on PostgreSQL keeps it (postgres_schema.cpp). What
// is read points into the rows that the statement gave, and lives as long as they do.

/// What every reading of a hold's row begins with, and the row that it makes of those columns.
constexpr const char* kNamingColumns = "key, id, status, name, bin, set_name, colour, site, ";
HoldRow namedRow(const postgres::Rows& rows, int row);

/// The columns that a reading of all rows asks for, and the row that it makes of them; parts that
/// are not asked for are empty.
std::string holdColumns(LibraryStore::HoldPart part);
HoldRow holdRow(const postgres::Rows& rows, int row);

/// Writes the rows in two statements, however many there are: of ids that are there all columns but
/// the key, then new ones with the next keys, in the order given.
void putHoldRows(postgres::Connection& connection, const std::vector<HoldRow>& holds,
                 std::size_t most_bytes = postgres::kUsualPiece);

}  // namespace holdshelf
