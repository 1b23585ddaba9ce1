// SPDX-License-Identifier: Apache-2.0
#include "tests/reliability/durability/server_process.h"

#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdlib>
#include <stdexcept>
#include <string>

#include "catalog/blob_store.h"

namespace fs = std::filesystem;

namespace holdshelf::test {

ServerProcess::ServerProcess(const fs::path& program, const fs::path& library) {
  const fs::path web = library.string() + "-web";
  fs::create_directories(web);
  writeFileDurably(web / "index.html", "<!doctype html><title>Shelf</title>");
  int ends[2];
  if (::pipe(ends) != 0) throw std::runtime_error("no pipe");
  pid_ = ::fork();
  if (pid_ == 0) {
    ::dup2(ends[1], STDOUT_FILENO);
    ::close(ends[0]);
    ::close(ends[1]);
    ::execl(program.c_str(), program.c_str(), "serve", "--port", "0", "-l", library.c_str(),
            "--web", web.c_str(), static_cast<char*>(nullptr));
    ::_exit(127);
  }
  ::close(ends[1]);
  std::string line;
  for (char c = 0; c != '\n' && ::read(ends[0], &c, 1) == 1;) line += c;
  ::close(ends[0]);
  const std::size_t colon = line.find(':', line.find("//") + 2);
  if (colon != std::string::npos) port_ = std::atoi(line.c_str() + colon + 1);
  if (port_ == 0) throw std::runtime_error("the server did not start: " + line);
}

ServerProcess::~ServerProcess() {
  if (pid_ > 0) end();
}

int ServerProcess::end() {
  if (pid_ == 0) throw std::logic_error("the server was ended before");
  ::kill(pid_, SIGTERM);
  int status = 0;
  ::waitpid(pid_, &status, 0);
  pid_ = 0;
  return WIFEXITED(status) ? WEXITSTATUS(status) : -WTERMSIG(status);
}

}  // namespace holdshelf::test
