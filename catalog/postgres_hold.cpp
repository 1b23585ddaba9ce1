// SPDX-License-Identifier: Apache-2.0
#include "catalog/postgres_hold.h"

namespace holdshelf {
namespace {

using postgres::columnOf;
using postgres::Rows;
using postgres::Values;

std::optional<double> realOrNone(const Rows& rows, int row, int column) {
  if (rows.isNull(row, column)) return std::nullopt;
  return rows.real(row, column);
}

/// As PostgreSQL reads arrays.
std::string arrayText(const std::vector<std::int32_t>& numbers) {
  std::string text = "{";
  for (const std::int32_t number : numbers)
    text += (text.size() == 1 ? "" : ",") + std::to_string(number);
  return text + "}";
}

Values valuesOf(std::span<const HoldRow> holds) {
  const std::vector<int> status = columnOf(holds, &HoldRow::status);
  std::vector<std::string> marks;  // Arrays of arrays would be taken apart by unnest.
  for (const HoldRow& hold : holds) marks.push_back(arrayText(hold.marks));
  Values values;
  values.add(columnOf(holds, &HoldRow::id))
      .add(std::vector<std::int64_t>(status.begin(), status.end()))
      .add(columnOf(holds, &HoldRow::name))
      .add(columnOf(holds, &HoldRow::bin))
      .add(columnOf(holds, &HoldRow::set))
      .add(columnOf(holds, &HoldRow::colour))
      .add(columnOf(holds, &HoldRow::protrusion_mm))
      .add(columnOf(holds, &HoldRow::width_mm))
      .add(columnOf(holds, &HoldRow::height_mm))
      .add(columnOf(holds, &HoldRow::volume_mm3))
      .addBytes(columnOf(holds, &HoldRow::search))
      .addBytes(columnOf(holds, &HoldRow::body))
      .add(columnOf(holds, &HoldRow::site))
      .add(std::vector<std::string_view>(marks.begin(), marks.end()));
  return values;
}

constexpr const char* kGivenHolds =
    "unnest($1::text[], $2::int8[], $3::text[], $4::text[], $5::text[], $6::text[], $7::float8[], "
    "$8::float8[], $9::float8[], $10::float8[], $11::bytea[], $12::bytea[], $13::text[], "
    "$14::text[]) WITH ORDINALITY AS "
    "given(id, status, name, bin, set_name, colour, protrusion_mm, width_mm, height_mm, "
    "volume_mm3, search, body, site, marks, at)";

std::size_t bytesOf(const HoldRow& hold) {
  return hold.id.size() + hold.name.size() + hold.bin.size() + hold.set.size() +
         hold.colour.size() + hold.site.size() + hold.search.size() + hold.body.size() +
         12 * hold.marks.size();
}

void putPiece(postgres::Connection& connection, std::span<const HoldRow> holds) {
  const Values values = valuesOf(holds);
  const Rows changed = connection.run(
      std::string("UPDATE hold SET status = given.status, name = given.name, bin = given.bin, "
                  "set_name = given.set_name, colour = given.colour, "
                  "protrusion_mm = given.protrusion_mm, width_mm = given.width_mm, "
                  "height_mm = given.height_mm, volume_mm3 = given.volume_mm3, "
                  "search = given.search, body = given.body, site = given.site, "
                  "marks = given.marks::int4[] FROM ") +
          kGivenHolds + " WHERE hold.id = given.id",
      values);
  if (changed.touched() == static_cast<std::int64_t>(holds.size())) return;
  connection.run(
      std::string("INSERT INTO hold(key, id, status, name, bin, set_name, colour, protrusion_mm, "
                  "width_mm, height_mm, volume_mm3, search, body, site, marks) SELECT (SELECT "
                  "coalesce(max(key), 0) FROM hold) + row_number() OVER (ORDER BY given.at), "
                  "given.id, status, name, bin, set_name, colour, protrusion_mm, width_mm, "
                  "height_mm, volume_mm3, search, body, site, marks::int4[] FROM ") +
          kGivenHolds + " WHERE NOT EXISTS (SELECT FROM hold WHERE hold.id = given.id)",
      values);
}

}  // namespace

HoldRow namedRow(const Rows& rows, int row) {
  HoldRow hold;
  hold.key = rows.integer(row, 0);
  hold.id = rows.bytes(row, 1);
  hold.status = static_cast<int>(rows.integer(row, 2));
  hold.name = rows.bytes(row, 3);
  hold.bin = rows.bytes(row, 4);
  hold.set = rows.bytes(row, 5);
  hold.colour = rows.bytes(row, 6);
  hold.site = rows.bytes(row, 7);
  return hold;
}

std::string holdColumns(LibraryStore::HoldPart part) {
  const std::string all =
      std::string(kNamingColumns) + "protrusion_mm, width_mm, height_mm, volume_mm3, ";
  switch (part) {
    case LibraryStore::HoldPart::Search:
      return all + "search, ''::bytea";
    case LibraryStore::HoldPart::Body:
      return all + "''::bytea, body";
    case LibraryStore::HoldPart::All:
      break;
  }
  return all + "search, body";
}

HoldRow holdRow(const Rows& rows, int row) {
  HoldRow hold = namedRow(rows, row);
  hold.protrusion_mm = realOrNone(rows, row, 8);
  hold.width_mm = realOrNone(rows, row, 9);
  hold.height_mm = realOrNone(rows, row, 10);
  hold.volume_mm3 = realOrNone(rows, row, 11);
  hold.search = rows.bytes(row, 12);
  hold.body = rows.bytes(row, 13);
  return hold;
}

void putHoldRows(postgres::Connection& connection, const std::vector<HoldRow>& holds,
                 std::size_t most_bytes) {
  postgres::inPieces(holds, most_bytes, bytesOf,
                     [&](std::span<const HoldRow> piece) { putPiece(connection, piece); });
}

}  // namespace holdshelf
