// SPDX-License-Identifier: Apache-2.0
#include "catalog/shared_rows.h"

#include <algorithm>

#include "catalog/hold_numbers.h"
#include "catalog/name_limits.h"
#include "catalog/postgres_hold.h"
#include "catalog/search_marks.h"

namespace holdshelf {
namespace {

using postgres::Rows;
using postgres::Values;

/// Of a column and how the query's unit goes into it.
struct Column {
  const char* number;
  const char* name;
  double per_unit;
};
constexpr Column kNumberColumns[] = {{"protrusion", "protrusion_mm", 1},
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

/// One of these names, caseless.
void addAny(SqlWhere& where, const std::string& column,
            const google::protobuf::RepeatedPtrField<std::string>& of) {
  if (of.empty()) return;
  std::vector<std::string> names;
  for (const std::string& name : of) names.push_back(caseless(name));
  // Columns are of collation "C": lower() leaves all but A to Z as they are, as caseless() does.
  where.add("lower(" + column + ") = ANY(",
            std::vector<std::string_view>(names.begin(), names.end()), ")");
}

/// @param status  The column, or an expression that keeps the planner from its index.
void addStatuses(SqlWhere& where, const Query& query, const std::string& status) {
  if (query.statuses().empty()) {
    where.addPlain(status + " <> " + std::to_string(RETIRED));
    return;
  }
  std::vector<std::int64_t> statuses;
  for (const int one : query.statuses()) statuses.push_back(one);
  where.add(status + " = ANY(", statuses, ")");
}

void addRanges(SqlWhere& where, const Query& query) {
  for (const Range& range : query.ranges())
    for (const Column& column : kNumberColumns) {
      if (range.number() != column.number) continue;
      const double slack = 0.02 * column.per_unit;  // Numbers are searched in such steps.
      if (range.has_from())
        where.add(std::string(column.name) + " >= ", range.from() * column.per_unit - slack);
      if (range.has_to())
        where.add(std::string(column.name) + " <= ", range.to() * column.per_unit + slack);
    }
}

/// A row may match only if this holds of its plain columns; a little wider than the query, which is
/// held against it again.
void addConditions(SqlWhere& where, const Query& query, const std::string& status) {
  addStatuses(where, query, status);
  addAny(where, "bin", query.bins());
  addAny(where, "set_name", query.sets());
  addAny(where, "site", query.sites());
  if (!query.colours().empty()) {  // The name, or "... red" where red is a basic term.
    std::vector<std::string> patterns;
    for (const std::string& colour : query.colours())
      patterns.push_back("%" + escaped(caseless(colour)));
    where.add("lower(colour) LIKE ANY(",
              std::vector<std::string_view>(patterns.begin(), patterns.end()), ")");
  }
  if (!query.text().empty())
    where.add("(name || ' ' || id) ILIKE ", "%" + escaped(query.text()) + "%");
  addRanges(where, query);
}

/// What an id is sorted by, as the index hold_id_order has it: all before the number at its end,
/// then how many digits that has, then those.
std::string idOrder(const std::string& id) {
  const std::string digits = "ltrim(substring(" + id + ", '[0-9]*$'), '0')";
  return "regexp_replace(" + id + ", '[0-9]+$', ''), length(" + digits + "), " + digits;
}

bool byId(const Query& query) { return query.sort() == "id"; }

std::string orderOf(const Query& query) { return byId(query) ? idOrder("id") + ", key" : "key"; }

HoldRow rowOf(const Rows& rows, int row) {
  HoldRow hold = namedRow(rows, row);
  hold.search = rows.bytes(row, 8);
  return hold;
}

std::vector<std::int64_t> wide(const std::vector<std::int32_t>& marks) {
  return {marks.begin(), marks.end()};
}

void addMarks(SqlWhere& where, const MarkLimit& limit) {
  where.add(limit.need == MarkLimit::Need::All ? "marks @> " : "marks && ", wide(limit.marks),
            "::int4[]");
}

}  // namespace

// Only the index over marks is to answer for marks: compared with a row's own, one by one, they
// take longer than all else.
SharedRows::SharedRows(postgres::Connection& connection) : connection_(connection) {
  if (!connection.inTransaction())
    transaction_.emplace(connection,
                         "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY; SET LOCAL jit = off;"
                         "SET LOCAL enable_seqscan = off; SET LOCAL work_mem = '64MB'");
}

std::size_t SharedRows::walk(const Query& query, const Shelf& shelf, Place& place, std::size_t rows,
                             const Visit& visit) {
  SqlWhere fits;
  addConditions(fits, query, "status");
  if (shelf.of == Shelf::Of::Others) fits.add("site <> ", shelf.site);
  std::string beyond, condition = fits.sql();
  if (shelf.of == Shelf::Of::Site) beyond = "site = " + fits.next(shelf.site) + " AND ";
  const std::string order = orderOf(query);
  if (byId(query))
    beyond += "(" + order + ") > (" + idOrder(fits.next(place.id) + " COLLATE \"C\"") + ", " +
              fits.next(place.key) + ")";
  else
    beyond += "key > " + fits.next(place.key);
  // Sites are in order within a site's part of the index only where they are named in it.
  const std::string along = shelf.of == Shelf::Of::Site ? "site, " + order : order;
  const std::string most = fits.next(static_cast<std::int64_t>(rows));
  const Rows walked =
      connection_.run("SELECT " + std::string(kNamingColumns) + "CASE WHEN " + condition +
                          " THEN search END FROM (SELECT * FROM hold WHERE " + beyond +
                          " ORDER BY " + along + " LIMIT " + most + ") AS hold ORDER BY " + order,
                      fits.values());
  for (int row = 0; row < walked.size(); ++row)
    if (!walked.isNull(row, 8)) visit(rowOf(walked, row));
  if (!walked.empty())
    place = {walked.integer(walked.size() - 1, 0), walked.text(walked.size() - 1, 1)};
  return static_cast<std::size_t>(walked.size());
}

std::optional<std::vector<std::int64_t>> SharedRows::candidates(const Query& query,
                                                                const Shelf& shelf,
                                                                std::size_t most, bool in_order) {
  std::vector<MarkLimit> limits = markLimits(query);
  if (limits.empty() && query.statuses().empty()) return std::nullopt;
  SqlWhere where;
  addConditions(where, query, limits.empty() ? "status" : "(status + 0)");
  if (shelf.of == Shelf::Of::Site) {
    Query here;
    here.add_sites(shelf.site);
    for (MarkLimit& limit : markLimits(here)) limits.push_back(std::move(limit));
    where.add("(site || '') = ", shelf.site);
  }
  if (shelf.of == Shelf::Of::Others) where.add("site <> ", shelf.site);
  for (const MarkLimit& limit : limits) addMarks(where, limit);
  std::string order;
  if (in_order && shelf.of == Shelf::Of::All && !shelf.site.empty())
    order = "site = " + where.next(shelf.site) + " DESC, ";
  const std::string count = where.next(static_cast<std::int64_t>(most));
  // Set off, so that it is not answered in the order of another index.
  const std::string fitting = "SELECT key, id, site FROM hold WHERE " + where.sql();
  const Rows rows =
      connection_.run(in_order ? "SELECT key FROM (" + fitting + " OFFSET 0) AS hold ORDER BY " +
                                     order + orderOf(query) + " LIMIT " + count
                               : fitting + " LIMIT " + count,
                      where.values());
  std::vector<std::int64_t> keys;
  for (int row = 0; row < rows.size(); ++row) keys.push_back(rows.integer(row, 0));
  return keys;
}

void SharedRows::fetch(const std::vector<std::int64_t>& keys, const Visit& visit) {
  const Rows rows = connection_.run(
      "SELECT " + std::string(kNamingColumns) +
          "search FROM unnest($1::int8[]) WITH ORDINALITY AS wanted(key, at) JOIN hold USING (key) "
          "ORDER BY at",
      Values().add(keys));
  for (int row = 0; row < rows.size(); ++row) visit(rowOf(rows, row));
}

}  // namespace holdshelf
