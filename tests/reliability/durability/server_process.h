// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <sys/types.h>

#include <filesystem>

namespace holdshelf::test {

/// `holdshelf serve` over a library as a process of its own, on any free port, with a page that is
/// next to nothing. Whoever wants to know whether it ended well, and what a sanitizer has to say of
/// it does, calls end(); on destruction it is ended and waited for all the same.
class ServerProcess {
 public:
  /// Returns when it listens. @throws std::runtime_error  It does not start.
  ServerProcess(const std::filesystem::path& program, const std::filesystem::path& library);
  ~ServerProcess();
  ServerProcess(const ServerProcess&) = delete;
  ServerProcess& operator=(const ServerProcess&) = delete;

  /// Asks it to end (SIGTERM) and waits. @return  Its exit status, 0 when it ended well; minus the
  /// signal that ended it.
  int end();

  int port() const { return port_; }
  pid_t pid() const { return pid_; }  ///< 0 once it was ended.

 private:
  pid_t pid_ = 0;
  int port_ = 0;
};

}  // namespace holdshelf::test
