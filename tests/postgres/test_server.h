// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <sys/types.h>

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "tests/catalog/temp_folder.h"

namespace holdshelf::test {

/// A PostgreSQL server of the tests' own: made in a temporary folder from Debian's programs, by an
/// unprivileged user, listening on the loopback address only, gone with the test program. Flushing
/// is off, since nothing here outlives a power cut.
class TestServer {
 public:
  /// Started at its first use; nullptr, saying so once, where PostgreSQL is not installed.
  static TestServer* instance();

  /// One as a gym would run it, flushing to the disk, with checksums of its pages and `cache` of
  /// memory ("1GB"). @throws std::runtime_error  PostgreSQL is not installed.
  static std::unique_ptr<TestServer> flushing(const std::string& cache);

  /// Address of a new, empty database.
  std::string newDatabase();
  /// The address of a database for another user of the server.
  std::string addressFor(const std::string& database_address, const std::string& user) const;
  /// Stops it at once, as a crash of its machine would (it recovers from its log), and starts it.
  void restart();

  ~TestServer();
  TestServer(const TestServer&) = delete;
  TestServer& operator=(const TestServer&) = delete;

 private:
  TestServer(const std::filesystem::path& programs, std::vector<std::string> settings,
             const std::vector<std::string>& made_with);
  void start();
  void stop();

  TempFolder folder_;
  std::filesystem::path programs_;
  std::vector<std::string> settings_;
  uid_t uid_ = 0;
  gid_t gid_ = 0;
  int port_ = 0, databases_ = 0;
  pid_t pid_ = 0;
};

}  // namespace holdshelf::test

/// Ends a test case, saying why, where there is no PostgreSQL.
#define REQUIRE_POSTGRES(server)                                                       \
  holdshelf::test::TestServer* const server = holdshelf::test::TestServer::instance(); \
  if (server == nullptr) return
