// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <filesystem>
#include <memory>
#include <string>
#include <string_view>

#include "catalog/library_store.h"

struct sqlite3;
struct sqlite3_stmt;

namespace holdshelf::sqlite {

/// The database refused or failed: disk full, corrupt file, a constraint. Says SQLite's own words.
class Error : public StoreError {
 public:
  Error(int code, const std::string& what) : StoreError(what), code_(code) {}
  int code() const { return code_; }  ///< SQLite's primary result code.
  bool isDamage() const override;

 private:
  int code_;
};

/// A statement does not fit the tables that are there. Ours always do, so that these are not those
/// that were made.
class ForeignTables : public Error {
 public:
  using Error::Error;
  bool isDamage() const override { return true; }
};

class Database;

/// One prepared statement. Parameters are numbered from 1, columns from 0, as in SQLite.
class Statement {
 public:
  Statement(const Database& database, std::string_view sql);

  Statement& bind(int parameter, std::int64_t value);
  Statement& bind(int parameter, int value) {
    return bind(parameter, static_cast<std::int64_t>(value));
  }
  Statement& bind(int parameter, double value);
  Statement& bind(int parameter, std::string_view text);
  Statement& bindBlob(int parameter, std::string_view bytes);

  /// Moves to the next row; false after the last one.
  bool step();
  /// Runs to the end and makes the statement ready for new parameters.
  void run();

  std::int64_t integer(int column) const;
  double real(int column) const;
  std::string text(int column) const;
  bool isNull(int column) const;
  /// Valid until the next step.
  std::string_view blob(int column) const;

 private:
  struct Finalise {
    void operator()(sqlite3_stmt* statement) const;
  };
  [[noreturn]] void fail(int code) const;

  sqlite3* database_;
  std::unique_ptr<sqlite3_stmt, Finalise> statement_;
};

/// An open database file.
class Database {
 public:
  /// Frozen reads the file as it lies, without locks, log or a file beside it: for a look at its
  /// header only, as somebody may be writing.
  enum class Access { ReadOnly, ReadWrite, Existing, Frozen };
  /// ReadWrite creates the file when it is absent; Existing, which writes as well, does not.
  Database(const std::filesystem::path& file, Access access);

  void execute(const std::string& sql);
  /// Copies the whole database into a file as it is at one moment, while others read and write it.
  /// Durable when it returns.
  void backUp(const std::filesystem::path& file) const;
  /// Whether the file is no longer under its name, and what is written to it is lost.
  bool hasMoved() const;
  sqlite3* handle() const { return database_.get(); }

 private:
  struct Close {
    void operator()(sqlite3* database) const;
  };
  std::unique_ptr<sqlite3, Close> database_;
};

/// A write transaction: rolled back on destruction unless committed. Takes the write lock at once,
/// so what is read inside it stays true until the commit.
class Transaction {
 public:
  explicit Transaction(Database& database);
  ~Transaction();
  Transaction(const Transaction&) = delete;
  Transaction& operator=(const Transaction&) = delete;
  void commit();

 private:
  Database& database_;
  bool open_ = true;
};

}  // namespace holdshelf::sqlite
