// SPDX-License-Identifier: Apache-2.0
#include "tests/postgres/test_server.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <grp.h>
#include <netinet/in.h>
#include <pwd.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <stdexcept>
#include <thread>
#include <vector>

#include "catalog/postgres.h"

namespace fs = std::filesystem;

namespace holdshelf::test {
namespace {

/// Newest of Debian's folders; empty: PostgreSQL is not installed.
fs::path findPrograms() {
  fs::path found;
  for (int version = 11; version < 40; ++version) {
    const fs::path programs = "/usr/lib/postgresql/" + std::to_string(version) + "/bin";
    if (fs::exists(programs / "postgres") && fs::exists(programs / "initdb")) found = programs;
  }
  return found;
}

int freePort() {
  const int probe = ::socket(AF_INET, SOCK_STREAM, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  socklen_t size = sizeof address;
  ::bind(probe, reinterpret_cast<sockaddr*>(&address), size);
  ::getsockname(probe, reinterpret_cast<sockaddr*>(&address), &size);
  ::close(probe);
  return ntohs(address.sin_port);
}

/// Runs a program as another user, its output into a file. Ended with this process.
pid_t spawn(const std::vector<std::string>& words, uid_t uid, gid_t gid, const fs::path& log) {
  const pid_t pid = ::fork();
  if (pid != 0) return pid;
  const int out = ::open(log.c_str(), O_WRONLY | O_CREAT | O_APPEND, 0666);
  ::dup2(out, 1);
  ::dup2(out, 2);
  ::setpgid(0, 0);  // Ctrl-C is for the tests.
  if (uid != ::getuid() && (::setgroups(0, nullptr) != 0 || ::setgid(gid) != 0 || ::setuid(uid)))
    ::_exit(126);
  ::prctl(PR_SET_PDEATHSIG, SIGQUIT);  // After the change of user, which clears it.
  std::vector<std::string> copy = words;
  std::vector<char*> argv;
  for (std::string& word : copy) argv.push_back(word.data());
  argv.push_back(nullptr);
  ::execv(argv[0], argv.data());
  ::_exit(127);
}

}  // namespace

TestServer* TestServer::instance() {
  static const std::unique_ptr<TestServer> server = [] {
    const fs::path programs = findPrograms();
    if (programs.empty())
      std::printf("PostgreSQL is not installed (Debian: postgresql): its tests are skipped.\n");
    return std::unique_ptr<TestServer>(
        programs.empty() ? nullptr
                         : new TestServer(programs, {"fsync=off", "shared_buffers=64MB"}, {}));
  }();
  return server.get();
}

std::unique_ptr<TestServer> TestServer::flushing(const std::string& cache) {
  const fs::path programs = findPrograms();
  if (programs.empty()) throw std::runtime_error("PostgreSQL is not installed");
  return std::unique_ptr<TestServer>(new TestServer(
      programs, {"shared_buffers=" + cache, "max_wal_size=8GB"}, {"--data-checksums"}));
}

TestServer::TestServer(const fs::path& programs, std::vector<std::string> settings,
                       const std::vector<std::string>& made_with)
    : programs_(programs), settings_(std::move(settings)), uid_(::getuid()), gid_(::getgid()) {
  if (uid_ == 0) {  // It refuses to run as root.
    const passwd* user = ::getpwnam("postgres");
    if (user == nullptr) user = ::getpwnam("nobody");
    if (user == nullptr) throw std::runtime_error("there is no unprivileged user for PostgreSQL");
    uid_ = user->pw_uid;
    gid_ = user->pw_gid;
  }
  fs::permissions(folder_.path(), fs::perms::all);
  std::vector<std::string> words = {
      programs_ / "initdb", "-D", folder_ / "data", "-U",        "tester",           "-A", "trust",
      "--locale=C",         "-E", "UTF8",           "--no-sync", "--no-instructions"};
  words.insert(words.end(), made_with.begin(), made_with.end());
  const pid_t made = spawn(words, uid_, gid_, folder_ / "log");
  int status = -1;
  ::waitpid(made, &status, 0);
  if (status != 0) throw std::runtime_error("initdb failed: see " + (folder_ / "log").string());
  // Users beside the tester need their passwords, also on this machine.
  std::ofstream(folder_ / "data" / "pg_hba.conf")
      << "host all tester 127.0.0.1/32 trust\nhost all all 127.0.0.1/32 scram-sha-256\n";
  port_ = freePort();
  start();
}

TestServer::~TestServer() { stop(); }

void TestServer::start() {
  std::vector<std::string> words = {programs_ / "postgres", "-D", folder_ / "data"};
  std::vector<std::string> settings = settings_;
  settings.insert(settings.end(), {"port=" + std::to_string(port_), "listen_addresses=127.0.0.1",
                                   "unix_socket_directories=", "max_connections=60"});
  for (const std::string& setting : settings) words.insert(words.end(), {"-c", setting});
  pid_ = spawn(words, uid_, gid_, folder_ / "log");
  const std::string address = addressFor("/postgres", "tester");
  for (int tries = 0;; ++tries) {
    try {
      const postgres::Connection connection(address);
      return;
    } catch (const postgres::Error&) {
      if (tries == 600) throw;
      std::this_thread::sleep_for(std::chrono::milliseconds(50));
    }
  }
}

void TestServer::stop() {
  if (pid_ == 0) return;
  ::kill(pid_, SIGQUIT);  // At once: no checkpoint, as if the machine had gone.
  int status = 0;
  ::waitpid(pid_, &status, 0);
  pid_ = 0;
}

void TestServer::restart() {
  stop();
  start();
}

std::string TestServer::newDatabase() {
  const std::string name = "gym" + std::to_string(++databases_);
  postgres::Connection(addressFor("/postgres", "tester")).execute("CREATE DATABASE " + name);
  return addressFor("/" + name, "tester");
}

std::string TestServer::addressFor(const std::string& database_address,
                                   const std::string& user) const {
  return "postgres://" + user + "@127.0.0.1:" + std::to_string(port_) +
         database_address.substr(database_address.rfind('/'));
}

}  // namespace holdshelf::test
