// SPDX-License-Identifier: Apache-2.0
#include "catalog/postgres_pool.h"

#include <doctest/doctest.h>
#include <signal.h>

#include <cerrno>
#include <set>
#include <vector>

#include "tests/catalog/waiting.h"
#include "tests/postgres/test_server.h"

using namespace holdshelf;

namespace {

using Borrowed = std::shared_ptr<postgres::Connection>;

/// The server's process behind a connection.
std::int64_t processOf(const Borrowed& connection) {
  return connection->run("SELECT pg_backend_pid()").integer(0, 0);
}

}  // namespace

TEST_CASE("postgres pool: what was given back is handed out again, each to one at a time") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase(), other = server->newDatabase();
  const std::int64_t first = processOf(borrowConnection(address));
  const Borrowed again = borrowConnection(address);
  CHECK(processOf(again) == first);
  CHECK(processOf(borrowConnection(address)) != first);
  CHECK(processOf(borrowConnection(other)) != first);
}

TEST_CASE("postgres pool: not what the server ended, nor what is in a transaction") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase();
  std::int64_t first = 0;
  {
    const Borrowed open = borrowConnection(address);
    first = processOf(open);
    open->execute("BEGIN");
  }
  const Borrowed killer = borrowConnection(address);
  CHECK(processOf(killer) != first);
  std::int64_t second = 0;
  {
    const Borrowed ended = borrowConnection(address);
    second = processOf(ended);
  }
  killer->run("SELECT pg_terminate_backend($1::int4)", postgres::Values().add(second));
  // Its end of the connection is closed when its process is gone.
  CHECK(test::comesTrue(
      [&] { return ::kill(static_cast<pid_t>(second), 0) != 0 && errno == ESRCH; }));
  const Borrowed fresh = borrowConnection(address);
  CHECK(processOf(fresh) != second);
}

TEST_CASE("postgres pool: those of another address that were idle longer make room") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase(), other = server->newDatabase();
  {
    std::vector<Borrowed> many;
    for (int i = 0; i < 20; ++i) many.push_back(borrowConnection(other));
  }
  const std::int64_t first = processOf(borrowConnection(address));
  CHECK(processOf(borrowConnection(address)) == first);
}

TEST_CASE("postgres pool: sixteen are kept") {
  REQUIRE_POSTGRES(server);
  const std::string address = server->newDatabase();
  std::set<std::int64_t> processes;
  {
    std::vector<Borrowed> many;
    for (int i = 0; i < 20; ++i)
      processes.insert(processOf(many.emplace_back(borrowConnection(address))));
  }
  std::vector<Borrowed> many;
  int known = 0;
  for (int i = 0; i < 20; ++i)
    known +=
        static_cast<int>(processes.count(processOf(many.emplace_back(borrowConnection(address)))));
  CHECK(known <= 16);  // Fewer where other tests' connections are kept, too.
}
