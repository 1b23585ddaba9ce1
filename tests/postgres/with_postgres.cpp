// SPDX-License-Identifier: Apache-2.0
// Runs a test that is no C++ on a shared library: with_postgres COMMAND [ARGUMENT...]
// Starts a PostgreSQL server of its own with two empty databases, whose addresses the command gets
// in HOLDSHELF_TEST_PLACE and HOLDSHELF_TEST_PLACE_2. Its status is the command's; 77, which ctest
// takes for skipped, where PostgreSQL is not installed.
#include <spawn.h>
#include <sys/wait.h>

#include <cstdio>
#include <cstdlib>

#include "tests/postgres/test_server.h"

extern char** environ;

int main(int argc, char** argv) {
  if (argc < 2) {
    std::printf("with_postgres COMMAND [ARGUMENT...]\n");
    return 2;
  }
  auto* const server = holdshelf::test::TestServer::instance();
  if (server == nullptr) return 77;
  ::setenv("HOLDSHELF_TEST_PLACE", server->newDatabase().c_str(), 1);
  ::setenv("HOLDSHELF_TEST_PLACE_2", server->newDatabase().c_str(), 1);
  pid_t pid = 0;
  if (::posix_spawnp(&pid, argv[1], nullptr, nullptr, argv + 1, environ) != 0) {
    std::printf("%s cannot be run\n", argv[1]);
    return 2;
  }
  int status = 0;
  ::waitpid(pid, &status, 0);
  return WIFEXITED(status) ? WEXITSTATUS(status) : 1;
}
