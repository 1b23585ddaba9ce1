// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <chrono>
#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "catalog/library_store.h"

struct pg_conn;
struct pg_result;

namespace holdshelf::postgres {

/// The server refused or the connection is gone. Says the server's own words.
class Error : public StoreError {
 public:
  Error(std::string state, const std::string& what) : StoreError(what), state_(std::move(state)) {}
  /// SQLSTATE, five letters; empty where the connection failed.
  const std::string& state() const { return state_; }
  bool isDamage() const override;

 private:
  std::string state_;
};

/// Values for $1, $2, ... of one statement, sent in PostgreSQL's binary form.
class Values {
 public:
  Values& add(std::int64_t value);
  Values& add(int value) { return add(static_cast<std::int64_t>(value)); }
  Values& add(double value);
  Values& add(std::string_view text);
  Values& add(const std::string& text) { return add(std::string_view(text)); }
  Values& add(const char* text) { return add(std::string_view(text)); }
  Values& addBytes(std::string_view bytes);
  // Arrays, for many rows in one statement (unnest).
  Values& add(const std::vector<std::int64_t>& values);
  Values& add(const std::vector<std::optional<double>>& values);
  Values& add(const std::vector<std::string_view>& texts);
  Values& addBytes(const std::vector<std::string_view>& bytes);

 private:
  friend class Connection;
  void needRoom() const;
  Values& addArray(unsigned type, unsigned element,
                   const std::vector<std::optional<std::string_view>>& elements);
  std::vector<std::string> bytes_;
  std::vector<unsigned> types_;
};

/// Values of one statement come to no more than this, where they can be shared out: the server
/// takes no message of 1 GB, and holds all of one in memory several times over.
constexpr std::size_t kUsualPiece = std::size_t{64} << 20;

/// Shares out rows to statements whose values come to `most` bytes at most, or are one row's.
/// @param bytes  Of a row.
template <class Row, class Bytes, class Run>
void inPieces(const std::vector<Row>& rows, std::size_t most, const Bytes& bytes, const Run& run) {
  for (std::size_t from = 0, to = 0; from < rows.size(); from = to) {
    std::size_t sum = 0;
    do sum += bytes(rows[to++]);
    while (to < rows.size() && sum + bytes(rows[to]) <= most);
    run(std::span<const Row>(rows).subspan(from, to - from));
  }
}

/// One member of all rows, as an array for unnest.
template <class Row, class Member>
std::vector<Member> columnOf(std::span<const Row> rows, Member Row::*member) {
  std::vector<Member> column;
  column.reserve(rows.size());
  for (const Row& row : rows) column.push_back(row.*member);
  return column;
}

/// Rows that a statement gave; rows and columns count from 0.
class Rows {
 public:
  explicit Rows(pg_result* result) : result_(result) {}
  int size() const;
  bool empty() const { return size() == 0; }
  bool isNull(int row, int column) const;
  std::int64_t integer(int row, int column) const;  ///< Of an int8, int4 or bool column.
  double real(int row, int column) const;           ///< Of a float8 column.
  std::string_view bytes(int row, int column) const;
  std::string text(int row, int column) const { return std::string(bytes(row, column)); }
  /// Rows that an INSERT, UPDATE or DELETE touched.
  std::int64_t touched() const;

 private:
  struct Clear {
    void operator()(pg_result* result) const;
  };
  std::unique_ptr<pg_result, Clear> result_;
};

/// One connection to a PostgreSQL server, through its own client library; serves one thread.
class Connection {
 public:
  /// @param address  postgres://..., as libpq understands it; what it leaves out comes from libpq's
  ///                 environment and files. @throws Error  The server is not to be reached.
  explicit Connection(const std::string& address);

  /// Runs one statement, prepared at its first use. Only so many stay prepared: a search makes
  /// statements of what was asked, of which there is no end.
  Rows run(const std::string& sql, const Values& values = {});
  /// Runs any number of statements without values.
  void execute(const std::string& sql);
  bool inTransaction() const;
  bool hasFailed() const;  ///< Its transaction can only be undone any more.
  bool isLost() const;
  /// Waits for a notification on any channel that was listened to; false: none came in time.
  /// @throws Error  The connection was lost meanwhile.
  bool waitNotified(std::chrono::milliseconds longest);

 private:
  [[noreturn]] void fail(const pg_result* result) const;
  void forgetPrepared();
  struct Close {
    void operator()(pg_conn* connection) const;
  };
  std::unique_ptr<pg_conn, Close> connection_;
  std::map<std::string, std::string> prepared_;  // Name by statement.
};

/// A transaction; undone on destruction unless committed.
class Transaction {
 public:
  explicit Transaction(Connection& connection, const char* begin = "BEGIN");
  ~Transaction();
  Transaction(const Transaction&) = delete;
  Transaction& operator=(const Transaction&) = delete;
  /// @throws Error  Also where a statement in it had failed, whoever swallowed that: the server
  /// would
  ///                undo all of it and still answer the COMMIT without an error.
  void commit();

 private:
  void rollBack();

  Connection& connection_;
  bool open_ = true;
};

}  // namespace holdshelf::postgres
