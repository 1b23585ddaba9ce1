// SPDX-License-Identifier: Apache-2.0
// What the database answers is what the index in memory answers, which tries every hold.
#include "catalog/shared_find.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <random>

#include "catalog/find.h"
#include "catalog/postgres_schema.h"
#include "catalog/postgres_store.h"
#include "tests/bench/made_holds.h"
#include "tests/catalog/library_model.h"
#include "tests/postgres/test_server.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

constexpr const char* kBins[] = {"", "B4", "b4", "B12", "C_1", "Ä1", "ä1"};
constexpr const char* kSets[] = {"", "Blue Wave", "blue wave", "BLUE", "Moor"};
constexpr const char* kColours[] = {"", "red", "Red", "vivid red", "Vivid Red", "dark_red", "blue"};
constexpr const char* kSites[] = {"", "north", "North", "south"};
constexpr const char* kTexts[] = {"ledge", "LEDGE", "h-1", "0", "5%", "_", "e l", "Ä"};
constexpr const char* kNames[] = {"Quarry ledge", "quarry Ledge", "50% jug", "",
                                  "the lip",      "Äsche"};
constexpr Status kStatuses[] = {SHELF, CRATE, WALL, WASH, NEEDS_LOOK, RETIRED};

template <typename T, std::size_t N>
T oneOf(const T (&all)[N], std::mt19937& random) {
  return all[random() % N];
}

/// Ids whose order is neither that of their making nor that of their letters.
std::vector<std::string> shuffledIds(std::mt19937& random) {
  std::vector<std::string> ids;
  for (int i = 1; i <= 400; ++i) {
    std::string number = std::to_string(i * 7);
    if (i % 3 == 0) number = std::string(2, '0') + number;
    constexpr const char* kWords[] = {"H-", "h-", "A", "H2-", ""};
    ids.push_back(kWords[i % 5] + number);
  }
  ids.insert(ids.end(), {"ledge", "H-", "H-0", "H-0014b", "H-0000000000000000000000099"});
  std::shuffle(ids.begin(), ids.end(), random);
  return ids;
}

void fill(Library& library, std::mt19937& random) {
  std::vector<Event> events;
  int number = 0;
  for (const std::string& id : shuffledIds(random)) {
    Event made = created(id, oneOf(kNames, random), oneOf(kBins, random));
    made.mutable_created()->set_set(oneOf(kSets, random));
    made.mutable_created()->set_said_colour(oneOf(kColours, random));
    made.mutable_created()->set_site(oneOf(kSites, random));
    made.mutable_created()->set_status(oneOf(kStatuses, random));
    events.push_back(made);
    if (++number % 8 == 0) continue;  // Without a scan.
    Event scan = scanned(id, 0);
    *scan.mutable_scanned()->mutable_shape() = bench::makeHold(random, number).scans(0).shape();
    scan.mutable_scanned()->mutable_shape()->mutable_footprint_width_mm()->set_value(
        40 + 0.01 * static_cast<double>(random() % 20'000));
    events.push_back(scan);
  }
  library.commit(events);
}

std::string anyCase(std::string name, std::mt19937& random) {
  for (char& c : name)
    if (const bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
        letter && random() % 2 == 0)
      c = static_cast<char>(c ^ 0x20);
  return name;
}

void addRange(Query& query, std::mt19937& random) {
  struct Span {
    const char* number;
    double least, most;
  };
  constexpr Span kSpans[] = {
      {"protrusion", 15, 95}, {"volume", 20, 820}, {"width", 40, 240}, {"edge-depth", 5, 50}};
  const Span span = kSpans[random() % 4];
  std::uniform_real_distribution<double> value(span.least, span.most);
  const double one = value(random), other = value(random);
  Range& range = *query.add_ranges();
  range.set_number(span.number);
  const auto ends = random() % 3;
  if (ends != 0) range.set_from(std::min(one, other));
  if (ends != 1) range.set_to(std::max(one, other));
}

Query randomQuery(std::mt19937& random) {
  Query query;
  const auto often = [&](unsigned of) { return random() % of == 0; };
  for (int i = 0; i < 2; ++i) {
    if (often(4)) query.add_bins(anyCase(oneOf(kBins, random), random));
    if (often(4)) query.add_sets(anyCase(oneOf(kSets, random), random));
    if (often(3)) query.add_colours(anyCase(oneOf(kColours, random), random));
    if (often(5)) query.add_sites(anyCase(oneOf(kSites, random), random));
    if (often(4)) query.add_statuses(oneOf(kStatuses, random));
    if (often(4)) addRange(query, random);
  }
  if (often(4)) query.set_text(anyCase(oneOf(kTexts, random), random));
  if (often(2)) query.set_site(oneOf(kSites, random));
  if (often(2)) query.set_sort("id");
  query.set_limit(1 + static_cast<int>(random() % 40));
  return query;
}

}  // namespace

TEST_CASE("shared find: random queries, against the index that tries every hold") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase();
  std::mt19937 random(20310504);
  Library library = Library::openOrCreate(address);
  fill(library, random);
  const SearchIndex index(library);
  int answered = 0, by_id = 0, several = 0, none = 0;
  // By walking, by the index over marks, and by some of both.
  constexpr SearchPace kPaces[] = {{0, 400, 2500, 20'000}, {0, 3, 5, 20'000}, {0, 20, 90, 60}};
  for (int i = 0; i < 900; ++i) {
    const Query query = randomQuery(random);
    CAPTURE(query.ShortDebugString());
    CAPTURE(i % 3);
    const FindResult expected = index.find(query);
    const auto found = findInDatabase(library, query, kPaces[i % 3]);
    if (!found) {  // Given up: more than 60 rows to look at.
      CHECK(i % 3 == 2);
      continue;
    }
    ++answered;
    if (expected.matched() == 0) {
      ++none;
      CHECK(found->explanation().starts_with("None of "));
      CHECK((found->nearest_misses().empty() ||
             found->explanation().find("without \"") != std::string::npos));
      for (const FindHit& miss : found->nearest_misses()) CHECK_FALSE(miss.excluded_by().empty());
    }
    if (query.sort() == "id") ++by_id;
    if (expected.hits_size() > 1) ++several;
    REQUIRE(found->hits_size() == expected.hits_size());
    for (int hit = 0; hit < expected.hits_size(); ++hit)
      CHECK(found->hits(hit).SerializeAsString() == expected.hits(hit).SerializeAsString());
    if (found->hits_size() < query.limit()) CHECK(found->matched() == expected.matched());
  }
  CHECK(answered > 700);  // Else this would have shown little.
  CHECK(none > 100);
  CHECK(by_id > 80);
  CHECK(several > 120);
  auto& store = dynamic_cast<PostgresStore&>(library.store());
  // Each made statements of its own; the server keeps no more of them for that.
  const auto kept = store.connection()->run("SELECT count(*) FROM pg_prepared_statements");
  CHECK(kept.integer(0, 0) <= 128);
}

TEST_CASE("shared find: a library of the schema before gets its indexes, and sorted ids use one") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase();
  {
    postgres::Connection connection(address);
    connection.execute("CREATE SCHEMA holdshelf; SET search_path TO holdshelf");
    connection.execute(kPostgresSteps[0].sql);
    connection.execute("INSERT INTO meta VALUES('version', '1')");
  }
  Library library = Library::open(address);
  library.commit({created("H-0010", "", "B4"), created("H-9", "", "b4")});
  Query query;
  query.add_bins("B4");
  query.set_sort("id");
  query.set_limit(5);
  const auto found = findInDatabase(library, query, {0});
  REQUIRE(found);
  REQUIRE(found->hits_size() == 2);
  CHECK(found->hits(0).id() == "H-9");
  postgres::Connection connection(address);  // Of its own, for its settings.
  CHECK(connection.run("SELECT value FROM meta WHERE key = 'version'").text(0, 0) ==
        std::to_string(PostgresStore::schemaVersion()));
  connection.execute(
      "SET enable_seqscan = off; SET enable_sort = off; SET enable_bitmapscan = off");
  const auto plan = connection.run(
      "EXPLAIN SELECT id FROM hold ORDER BY regexp_replace(id, '[0-9]+$', ''), "
      "length(ltrim(substring(id, '[0-9]*$'), '0')), ltrim(substring(id, '[0-9]*$'), '0'), key "
      "LIMIT 5");
  std::string text;
  for (int row = 0; row < plan.size(); ++row) text += plan.text(row, 0) + "\n";
  CAPTURE(text);
  CHECK(text.find("hold_id_order") != std::string::npos);
}
