// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "catalog/postgres.h"
#include "catalog/query_match.h"

namespace holdshelf {

/// Conditions of a statement, joined by AND, with their values.
class SqlWhere {
 public:
  template <typename Value>
  SqlWhere& add(const std::string& before, const Value& value, const std::string& after = "") {
    sql_ += " AND " + before + next(value) + after;
    return *this;
  }
  SqlWhere& addPlain(const std::string& condition) {
    sql_ += " AND " + condition;
    return *this;
  }
  /// "$3" for a value that stands elsewhere in the statement.
  template <typename Value>
  std::string next(const Value& value) {
    values_.add(value);
    return "$" + std::to_string(++count_);
  }
  /// "TRUE AND ...".
  std::string sql() const { return "TRUE" + sql_; }
  const postgres::Values& values() const { return values_; }

 private:
  std::string sql_;
  postgres::Values values_;
  int count_ = 0;
};

/// The rows of a large shared library that may answer a query, in the query's order, as of one
/// moment; on the library's connection, for as long as it lives. Found in two ways: by walking
/// along the rows, which is fast where many match, and by the index over marks (search_marks.h),
/// which is where few do. Throws StoreError.
class SharedRows {
 public:
  /// Which holds: all (candidates(): those at the site first), those that stand at the site, or
  /// those that do not.
  struct Shelf {
    enum class Of { All, Site, Others } of = Of::All;
    std::string site;
  };
  /// Where a walk has come to; as it is made, before the first row.
  struct Place {
    std::int64_t key = 0;
    std::string id;
  };
  using Visit = std::function<void(const HoldRow&)>;

  explicit SharedRows(postgres::Connection& connection);

  /// Goes past the next `rows` rows of a shelf and visits those that the query's plain columns do
  /// not exclude. @return  How many there were; fewer than `rows`: the end was reached.
  std::size_t walk(const Query& query, const Shelf& shelf, Place& place, std::size_t rows,
                   const Visit& visit);
  /// Keys of the rows that neither marks nor plain columns exclude, at most so many: the first in
  /// the query's order, or any, which is faster. nullopt: it asks nothing that an index knows.
  std::optional<std::vector<std::int64_t>> candidates(const Query& query, const Shelf& shelf,
                                                      std::size_t most, bool in_order = true);
  /// The rows of these keys, in their order.
  void fetch(const std::vector<std::int64_t>& keys, const Visit& visit);

 private:
  postgres::Connection& connection_;
  std::optional<postgres::Transaction> transaction_;
};

}  // namespace holdshelf
