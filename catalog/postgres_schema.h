// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>

namespace holdshelf {

/// A step takes the schema of a library on PostgreSQL from version i to i + 1. Steps are only ever
/// appended, never edited; all that a database lacks run in one transaction.
struct PostgresStep {
  const char* sql;
  bool refold;  ///< The rows of holds are made anew from their events afterwards.
};

extern const std::array<PostgresStep, 3> kPostgresSteps;

/// Takes on the role that owns the schema, where catalog/postgres_roles.sql made one, so that any
/// of its members can bring the tables up to date.
extern const char* const kPostgresOwner;

/// What the group roles of catalog/postgres_roles.sql may do, where they exist: holdshelf_use reads
/// and adds, and can neither change nor delete an event, a batch or a file; holdshelf_read reads.
extern const char* const kPostgresGrants;

}  // namespace holdshelf
