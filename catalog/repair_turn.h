// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <string>

#include "mesh/open_file.h"

namespace holdshelf {

/// One repair's turn at the library in a folder: while it lives, no other repair begins, so that
/// none sets the database aside that another has just made. A repair begins it before it looks for
/// the database. Where there are no file locks, and for a library on PostgreSQL, whose repairs lock
/// the database itself, it keeps nobody away.
class RepairTurn {
 public:
  /// @throws BadInput  Somebody else repairs the library.
  explicit RepairTurn(const std::filesystem::path& place);

  /// Remembers the database's files, or that there are none, as they are now; so does its
  /// beginning.
  void noteDatabase();
  /// Whether they are as they were noted. For a database that cannot be opened, which nobody works
  /// on: somebody may have put another in its place.
  bool isAsNoted() const;

 private:
  std::string filesNow() const;

  std::filesystem::path place_;
  OpenFile folder_;
  std::string noted_;
};

}  // namespace holdshelf
