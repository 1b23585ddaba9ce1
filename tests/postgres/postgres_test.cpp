// SPDX-License-Identifier: Apache-2.0
#include "catalog/postgres.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "tests/postgres/test_server.h"

using namespace holdshelf;

TEST_CASE("postgres: of ever other statements a connection keeps a bounded number prepared") {
  REQUIRE_POSTGRES(server);
  postgres::Connection connection(server->newDatabase());
  std::int64_t most = 0;
  for (int i = 0; i < 5000; ++i) {
    const auto rows =
        connection.run("SELECT " + std::to_string(i) + "::int8 + $1", postgres::Values().add(1));
    REQUIRE(rows.integer(0, 0) == i + 1);
    if (i % 100 != 0) continue;
    const auto kept = connection.run("SELECT count(*) FROM pg_prepared_statements");
    most = std::max(most, kept.integer(0, 0));
  }
  CHECK(most > 50);  // Those that are asked again and again stay.
  CHECK(most <= 128);
}

TEST_CASE("postgres: what a transaction has prepared is forgotten in it and after it failed") {
  REQUIRE_POSTGRES(server);
  postgres::Connection connection(server->newDatabase());
  const auto ask = [&](int i) {
    return connection.run("SELECT " + std::to_string(i) + "::int8").integer(0, 0);
  };
  {
    postgres::Transaction undone(connection);
    for (int i = 0; i < 127; ++i) REQUIRE(ask(i) == i);
    CHECK_THROWS_AS((void)connection.run("SELECT 1 / 0"), postgres::Error);
    CHECK_THROWS_AS((void)ask(128), postgres::Error);
    CHECK_THROWS_AS((void)ask(1), postgres::Error);
  }
  postgres::Transaction another(connection);
  for (int i = 0; i < 300; ++i) REQUIRE(ask(i) == i);
  another.commit();
  for (int i = 0; i < 300; ++i) REQUIRE(ask(i) == i);
}
