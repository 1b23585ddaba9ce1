// SPDX-License-Identifier: Apache-2.0
#include "catalog/sqlite.h"

#include <sqlite3.h>

#include <cstdio>

namespace holdshelf::sqlite {
namespace {

// Another process may be committing a scan; that takes far less than this.
constexpr int kBusyTimeout_ms = 20'000;

}  // namespace

bool Error::isDamage() const { return code_ == SQLITE_CORRUPT || code_ == SQLITE_NOTADB; }

void Statement::Finalise::operator()(sqlite3_stmt* statement) const { sqlite3_finalize(statement); }

void Database::Close::operator()(sqlite3* database) const { sqlite3_close_v2(database); }

Statement::Statement(const Database& database, std::string_view sql)
    : database_(database.handle()) {
  sqlite3_stmt* statement = nullptr;
  const int code = sqlite3_prepare_v3(database_, sql.data(), static_cast<int>(sql.size()),
                                      SQLITE_PREPARE_PERSISTENT, &statement, nullptr);
  if (code == SQLITE_ERROR) throw ForeignTables(code, sqlite3_errmsg(database_));
  if (code != SQLITE_OK) fail(code);
  statement_.reset(statement);
}

void Statement::fail(int code) const { throw Error(code & 0xff, sqlite3_errmsg(database_)); }

Statement& Statement::bind(int parameter, std::int64_t value) {
  if (const int code = sqlite3_bind_int64(statement_.get(), parameter, value)) fail(code);
  return *this;
}

Statement& Statement::bind(int parameter, double value) {
  if (const int code = sqlite3_bind_double(statement_.get(), parameter, value)) fail(code);
  return *this;
}

Statement& Statement::bind(int parameter, std::string_view text) {
  // A null pointer would bind NULL instead of an empty text.
  const char* data = text.empty() ? "" : text.data();
  if (const int code = sqlite3_bind_text64(statement_.get(), parameter, data, text.size(),
                                           SQLITE_TRANSIENT, SQLITE_UTF8))
    fail(code);
  return *this;
}

Statement& Statement::bindBlob(int parameter, std::string_view bytes) {
  // A null pointer would bind NULL instead of an empty blob.
  const char* data = bytes.empty() ? "" : bytes.data();
  if (const int code =
          sqlite3_bind_blob64(statement_.get(), parameter, data, bytes.size(), SQLITE_TRANSIENT))
    fail(code);
  return *this;
}

bool Statement::step() {
  const int code = sqlite3_step(statement_.get());
  if (code == SQLITE_ROW) return true;
  if (code != SQLITE_DONE) {
    const Error error(code & 0xff, sqlite3_errmsg(database_));
    sqlite3_reset(statement_.get());
    throw error;
  }
  sqlite3_reset(statement_.get());
  return false;
}

void Statement::run() {
  while (step()) {
  }
  sqlite3_clear_bindings(statement_.get());
}

std::int64_t Statement::integer(int column) const {
  return sqlite3_column_int64(statement_.get(), column);
}

double Statement::real(int column) const { return sqlite3_column_double(statement_.get(), column); }

bool Statement::isNull(int column) const {
  return sqlite3_column_type(statement_.get(), column) == SQLITE_NULL;
}

std::string Statement::text(int column) const { return std::string(blob(column)); }

std::string_view Statement::blob(int column) const {
  const void* data = sqlite3_column_blob(statement_.get(), column);
  const int size = sqlite3_column_bytes(statement_.get(), column);
  if (data == nullptr || size <= 0) return {};
  return {static_cast<const char*>(data), static_cast<std::size_t>(size)};
}

namespace {

/// SQLite's address of a file that it takes to change no more. Source: sqlite.org/uri.html.
std::string frozenAddress(const std::filesystem::path& file) {
  std::string address = "file:";
  for (const char c : file.string()) {
    if (c == '%' || c == '?' || c == '#') {
      char escaped[4];
      std::snprintf(escaped, sizeof escaped, "%%%02X", static_cast<unsigned char>(c));
      address += escaped;
    } else {
      address += c;
    }
  }
  return address + "?immutable=1";
}

int flagsOf(Database::Access access) {
  switch (access) {
    case Database::Access::ReadOnly:
      return SQLITE_OPEN_READONLY;
    case Database::Access::ReadWrite:
      return SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE;
    case Database::Access::Existing:
      return SQLITE_OPEN_READWRITE;
    case Database::Access::Frozen:
      return SQLITE_OPEN_READONLY | SQLITE_OPEN_URI;
  }
  return SQLITE_OPEN_READONLY;
}

}  // namespace

Database::Database(const std::filesystem::path& file, Access access) {
  sqlite3* database = nullptr;
  const std::string name = access == Access::Frozen ? frozenAddress(file) : file.string();
  const int code =
      sqlite3_open_v2(name.c_str(), &database, flagsOf(access) | SQLITE_OPEN_FULLMUTEX, nullptr);
  database_.reset(database);
  if (code != SQLITE_OK)
    throw Error(code & 0xff, database ? sqlite3_errmsg(database) : "out of memory");
  sqlite3_busy_timeout(database, kBusyTimeout_ms);
}

void Database::execute(const std::string& sql) {
  char* message = nullptr;
  const int code = sqlite3_exec(database_.get(), sql.c_str(), nullptr, nullptr, &message);
  if (code == SQLITE_OK) return;
  const std::string what = message ? message : sqlite3_errmsg(database_.get());
  sqlite3_free(message);
  throw Error(code & 0xff, what);
}

void Database::backUp(const std::filesystem::path& file) const {
  const Database to(file, Access::ReadWrite);
  sqlite3_backup* backup = sqlite3_backup_init(to.handle(), "main", handle(), "main");
  if (backup == nullptr)
    throw Error(sqlite3_errcode(to.handle()) & 0xff, sqlite3_errmsg(to.handle()));
  // All pages under one read lock: with a write-ahead log that keeps nobody from writing.
  const int stepped = sqlite3_backup_step(backup, -1);
  const int finished = sqlite3_backup_finish(backup);
  if (stepped != SQLITE_DONE) throw Error(stepped & 0xff, sqlite3_errstr(stepped));
  if (finished != SQLITE_OK) throw Error(finished & 0xff, sqlite3_errmsg(to.handle()));
}

bool Database::hasMoved() const {
  int moved = 0;
  const int code = sqlite3_file_control(handle(), "main", SQLITE_FCNTL_HAS_MOVED, &moved);
  return code == SQLITE_OK && moved != 0;
}

Transaction::Transaction(Database& database) : database_(database) {
  database_.execute("BEGIN IMMEDIATE");
}

Transaction::~Transaction() {
  if (open_) sqlite3_exec(database_.handle(), "ROLLBACK", nullptr, nullptr, nullptr);
}

void Transaction::commit() {
  database_.execute("COMMIT");
  open_ = false;
}

}  // namespace holdshelf::sqlite
