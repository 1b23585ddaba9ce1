// SPDX-License-Identifier: Apache-2.0
#include "catalog/shared_find.h"

#include <algorithm>

#include "catalog/find.h"
#include "catalog/hold_numbers.h"
#include "catalog/postgres_store.h"
#include "catalog/query_match.h"
#include "catalog/search_row.h"

namespace holdshelf {
namespace {

constexpr std::int64_t kSmall = 20'000;  // Holds that are read into memory in a moment.
constexpr std::size_t kMostLooks = 20'000;
constexpr std::size_t kFirstPage = 100, kLargestPage = 1600;

/// Conditions with their values, joined by AND.
class Where {
 public:
  template <typename Value>
  void add(const std::string& before, const Value& value, const std::string& after = "") {
    values_.add(value);
    sql_ += " AND " + before + "$" + std::to_string(++count_) + after;
  }
  /// One of these names, caseless.
  void any(const std::string& column, const google::protobuf::RepeatedPtrField<std::string>& of) {
    if (of.empty()) return;
    std::vector<std::string> names;
    for (const std::string& name : of) names.push_back(caseless(name));
    // Columns are of collation "C": lower() leaves all but A to Z as they are, as caseless() does.
    add("lower(" + column + ") = ANY(", std::vector<std::string_view>(names.begin(), names.end()),
        ")");
  }
  void addPlain(const std::string& condition) { sql_ += " AND " + condition; }
  const std::string& sql() const { return sql_; }
  const postgres::Values& values() const { return values_; }
  int count() const { return count_; }

 private:
  std::string sql_;
  postgres::Values values_;
  int count_ = 0;
};

/// Of a column and how the query's unit goes into it.
struct Column {
  const char* number;
  const char* name;
  double per_unit;
};
constexpr Column kColumns[] = {{"protrusion", "protrusion_mm", 1},
                               {"width", "width_mm", 1},
                               {"height", "height_mm", 1},
                               {"volume", "volume_mm3", 1000}};

std::string escaped(const std::string& text) {
  std::string pattern;
  for (const char c : text) {
    if (c == '%' || c == '_' || c == '\\') pattern += '\\';
    pattern += c;
  }
  return pattern;
}

void addStatuses(const Query& query, Where& where) {
  if (query.statuses().empty()) return where.addPlain("status <> " + std::to_string(RETIRED));
  std::vector<std::int64_t> statuses;
  for (const int status : query.statuses()) statuses.push_back(status);
  where.add("status = ANY(", statuses, ")");
}

/// A row may match only if this holds; a little wider than the query, which is held against it
/// again.
Where conditions(const Query& query) {
  Where where;
  addStatuses(query, where);
  where.any("bin", query.bins());
  where.any("set_name", query.sets());
  where.any("site", query.sites());
  if (!query.colours().empty()) {  // The name, or "... red" where red is a basic term.
    std::vector<std::string> patterns;
    for (const std::string& colour : query.colours())
      patterns.push_back("%" + escaped(caseless(colour)));
    where.add("lower(colour) LIKE ANY(",
              std::vector<std::string_view>(patterns.begin(), patterns.end()), ")");
  }
  if (!query.text().empty())
    where.add("(name || ' ' || id) ILIKE ", "%" + escaped(query.text()) + "%");
  for (const Range& range : query.ranges())
    for (const Column& column : kColumns) {
      if (range.number() != column.number) continue;
      const double slack = 0.02 * column.per_unit;  // Numbers are searched in such steps.
      if (range.has_from())
        where.add(std::string(column.name) + " >= ", range.from() * column.per_unit - slack);
      if (range.has_to())
        where.add(std::string(column.name) + " <= ", range.to() * column.per_unit + slack);
    }
  return where;
}

SearchEntry entryOf(const HoldRow& row) {
  return {std::string(row.id),         std::string(row.name),
          std::string(row.bin),        std::string(row.set),
          std::string(row.colour),     static_cast<Status>(row.status),
          unpackSearchRow(row.search), {},
          std::string(row.site)};
}

/// Looks through one part of the holds until there are enough; false: it looked too long.
bool gather(PostgresStore& store, const Where& where, const QueryMatcher& matcher,
            std::size_t enough, std::size_t& looks, SearchIndex& found) {
  const auto order =
      matcher.query().sort() == "id" ? PostgresStore::HoldOrder::Id : PostgresStore::HoldOrder::Key;
  std::size_t page = kFirstPage;
  PostgresStore::HoldPlace after;
  while (found.size() < enough) {
    std::size_t rows = 0;
    store.forEachHoldWhere(where.sql(), where.values(), where.count(), order, after, page,
                           [&](const HoldRow& row) {
                             ++rows;
                             after = {row.key, std::string(row.id)};
                             if (found.size() >= enough) return;
                             SearchEntry entry = entryOf(row);
                             if (matcher.matches(entry)) found.add(std::move(entry));
                           });
    looks += rows;
    if (rows < page) return true;
    if (looks >= kMostLooks) return false;
    page = std::min(4 * page, kLargestPage);
  }
  return true;
}

}  // namespace

std::optional<FindResult> findInDatabase(const Library& library, const Query& query) {
  auto* store = dynamic_cast<PostgresStore*>(&library.store());
  if (store == nullptr || query.has_lip() || query.limit() <= 0 || query.lab_size() > 0 ||
      !(query.sort().empty() || query.sort() == "id") || store->lastKey() < kSmall)
    return std::nullopt;
  const QueryMatcher matcher(query);
  const auto enough = static_cast<std::size_t>(query.limit());
  SearchIndex found;
  std::size_t looks = 0;
  Where own = conditions(query), others = conditions(query);
  if (!query.site().empty()) {  // Their own shelf first.
    own.add("site = ", query.site());
    others.add("site <> ", query.site());
    if (!gather(*store, own, matcher, enough, looks, found)) return std::nullopt;
  }
  if (!gather(*store, others, matcher, enough, looks, found)) return std::nullopt;
  if (found.size() == 0) return std::nullopt;  // The nearest misses are among all.
  FindResult result = found.find(query);
  result.set_searched(store->lastKey());
  if (found.size() >= enough)
    result.set_explanation("These are the first that match; there may be more.");
  return result;
}

}  // namespace holdshelf
