// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>
#include <functional>

#include "catalog/sqlite.h"

namespace holdshelf {

/// The schema of a library in one file. Step i takes a database from user_version i to i + 1. Steps
/// are only ever appended, never edited. A program that meets a higher version than it knows leaves
/// the file alone.
extern const std::array<const char*, 3> kSqliteSteps;

/// Whether the database is of the version that this program writes.
bool isCurrentSqlite(const sqlite::Database& database);

/// Whether a newer program made the database, or another program altogether.
bool isNewerSqlite(const sqlite::Database& database);

/// Whether it says another program's name beside a version that this one knows, or a version that
/// none has: a byte of its head has changed.
bool isDamagedSqlite(const sqlite::Database& database);

/// Runs the steps that the database lacks. Within a transaction that the caller commits, and not on
/// a newer one.
/// @throws sqlite::ForeignTables  A step does not fit the tables: it is not of the version it says.
/// @param refold  Makes the rows of holds anew from their events; called where an older program
///                made them.
void migrateSqlite(sqlite::Database& database, const std::function<void()>& refold);

}  // namespace holdshelf
