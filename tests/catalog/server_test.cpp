// SPDX-License-Identifier: Apache-2.0
#include "catalog/server.h"

#include <arpa/inet.h>
#include <doctest/doctest.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <chrono>
#include <fstream>
#include <future>
#include <list>
#include <memory>
#include <string>
#include <thread>

#include "catalog/library.h"
#include "mesh/bad_input.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using holdshelf::test::TempFolder;

namespace {

/// Whether the system refuses the next connection, and the socket of which it has.
std::atomic<bool> refuses_next = false;
std::atomic<int> refused_on = -1;

/// An empty library and a page of one file.
class Shelf {
 public:
  Shelf() {
    (void)Library::openOrCreate(folder_ / "l");
    std::filesystem::create_directory(folder_ / "web");
    std::ofstream(folder_ / "web" / "index.html") << "<!doctype html><title>page</title>";
  }

  void addToPage(const std::string& name, const std::string& text) const {
    std::ofstream(folder_ / "web" / name) << text;
  }

  ServeOptions options() const {
    ServeOptions options;
    options.library = folder_ / "l";
    options.web = folder_ / "web";
    options.port = 0;
    return options;
  }

 private:
  TempFolder folder_;
};

/// A server at work.
class Running {
 public:
  explicit Running(const ServeOptions& options)
      : server_(options), thread_([this] { server_.run([] { return true; }); }) {}
  ~Running() {
    server_.stop();
    thread_.join();
  }

  int port() const { return server_.port(); }

 private:
  Server server_;
  std::thread thread_;
};

const std::string kNeverSaid = "\x01";

/// A connection to it, over which bytes go as they are.
class Caller {
 public:
  explicit Caller(int port) : socket_(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)) {
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_port = htons(static_cast<std::uint16_t>(port));
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    REQUIRE(::connect(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0);
  }
  ~Caller() { ::close(socket_); }
  Caller(const Caller&) = delete;
  Caller& operator=(const Caller&) = delete;

  void say(const std::string& bytes) const {
    CHECK(::send(socket_, bytes.data(), bytes.size(), MSG_NOSIGNAL) ==
          static_cast<ssize_t>(bytes.size()));
  }

  /// Says it where the server still listens and has room.
  void trySaying(const std::string& bytes) const {
    (void)::send(socket_, bytes.data(), bytes.size(), MSG_NOSIGNAL | MSG_DONTWAIT);
  }

  /// All that comes until the server ends it; what came so far where it does not.
  std::string hear() const { return hearUntil(kNeverSaid); }

  std::string hearUntil(const std::string& end,
                        std::chrono::seconds longest = std::chrono::hours(1)) const {
    const auto until = std::chrono::steady_clock::now() + longest;
    std::string text;
    char buffer[4096];
    while (text.find(end) == std::string::npos && std::chrono::steady_clock::now() < until) {
      if (!happens(POLLIN, 20'000)) {
        FAIL_CHECK("nothing comes, and it does not end");
        break;
      }
      const ssize_t got = ::recv(socket_, buffer, sizeof buffer, 0);
      if (got <= 0) break;
      text.append(buffer, static_cast<std::size_t>(got));
    }
    return text;
  }

  /// Whether anything comes, or the end.
  bool isAnswered(int within_ms) const { return happens(POLLIN, within_ms); }

  /// Whether the server destroys the connection, and with it what was not read yet.
  bool isReset() const { return happens(0, 300); }

 private:
  /// Errors count as any event.
  bool happens(short event, int within_ms) const {
    pollfd one{socket_, event, 0};
    return ::poll(&one, 1, within_ms) > 0;
  }

  int socket_;
};

const std::string kHost = "Host: localhost\r\n";

}  // namespace

/// In the place of the system's, which the HTTP library asks.
extern "C" __attribute__((visibility("default"))) int accept(int socket, sockaddr* address,
                                                             socklen_t* length) {
  const int accepted = ::accept4(socket, address, length, 0);
  if (accepted < 0 || !refuses_next.exchange(false)) return accepted;
  ::close(accepted);
  refused_on = socket;
  errno = ENFILE;
  return -1;
}

TEST_CASE("server: where the system gives it no more connections it ends, and says so") {
  const Shelf shelf;
  Server server(shelf.options());
  auto running = std::async(std::launch::async, [&] { server.run([] { return true; }); });
  const Caller page(server.port());
  page.say("GET /api/v1/events HTTP/1.1\r\n" + kHost + "\r\n");
  REQUIRE(page.hearUntil("\r\n\r\n").starts_with("HTTP/1.1 200 "));
  refuses_next = true;
  const Caller late(server.port());
  const bool ended = running.wait_for(std::chrono::seconds(20)) == std::future_status::ready;
  CHECK(ended);
  REQUIRE(refused_on >= 0);
  // Its number is the next file's that is opened, which is not the server's to close.
  const int file = ::open("/dev/null", O_RDONLY | O_CLOEXEC);
  REQUIRE(::dup2(file, refused_on) == refused_on);
  server.stop();
  CHECK(::fcntl(refused_on, F_GETFD) >= 0);
  if (file != refused_on) ::close(file);
  std::string why;
  try {
    running.get();
  } catch (const BadInput& failure) {
    why = failure.what();
  }
  CHECK(why.starts_with("The server has ended, as this machine gives it no more connections ("));
  ::close(refused_on);
}

TEST_CASE("server: who listens hears of a database that was put in another's place, and of more") {
  const Shelf shelf;
  const auto folder = shelf.options().library;
  const auto addHold = [](Library library) {
    Event created;
    created.mutable_created()->set_count(1);
    library.commit({created});
  };
  addHold(Library::open(folder));
  const Running server(shelf.options());
  const Caller page(server.port());
  page.say("GET /api/v1/events HTTP/1.1\r\n" + kHost + "\r\n");
  REQUIRE(page.hearUntil("\r\n\r\n").starts_with("HTTP/1.1 200 "));
  std::this_thread::sleep_for(std::chrono::seconds(1));  // It has looked at what there is.
  {
    const Library library = Library::open(folder);
    std::vector<Event> events;
    library.forEachEvent([&](const Event& event) { events.push_back(event); });
    Library made = Library::openOrCreate(folder / "beside");
    made.restore(library.store().batches(), events);
    made.checkpoint();
  }
  for (const char* tail : {"", "-wal", "-shm"}) {
    const std::string name = std::string("holdshelf.sqlite") + tail;
    if (std::filesystem::exists(folder / name))
      std::filesystem::rename(folder / name, folder / ("aside" + name));
  }
  std::filesystem::rename(folder / "beside" / "holdshelf.sqlite", folder / "holdshelf.sqlite");
  const std::string same = page.hearUntil("\"lastEvent\":\"1\"", std::chrono::seconds(10));
  CHECK(same.find("\"lastEvent\":\"1\"") != std::string::npos);
  addHold(Library::open(folder));
  const std::string more = page.hearUntil("\"lastEvent\":\"2\"", std::chrono::seconds(10));
  CHECK(more.find("\"lastEvent\":\"2\"") != std::string::npos);
}

TEST_CASE("server: told to stop before it has started, it stops") {
  const Shelf shelf;
  for (int round = 0; round < 4; ++round) {
    Server server(shelf.options());
    server.stop();  // There is nothing to stop yet, and it has to be minded all the same.
    auto running = std::async(std::launch::async, [&] { server.run([] { return false; }); });
    const bool ended = running.wait_for(std::chrono::seconds(20)) == std::future_status::ready;
    CHECK(ended);
    if (!ended) server.stop();
  }
}

TEST_CASE("server: what it turns down while it is being sent reads the answer, without a reset") {
  const Shelf shelf;
  ServeOptions options = shelf.options();
  options.pair_here = true;
  const Running server(options);
  const std::string note = "POST /api/v1/holds/H-0001/note HTTP/1.1\r\n" + kHost;
  const std::string first_part(30'000, 'x');
  for (const auto& [length, status] : {std::pair{"100000", "401"}, {"9500000", "413"}}) {
    CAPTURE(length);
    const Caller phone(server.port());
    phone.say(note + "Content-Length: " + length + "\r\n\r\n" + first_part);
    CHECK(phone.hear().starts_with(std::string("HTTP/1.1 ") + status + " "));
    CHECK_FALSE(phone.isReset());
  }
}

TEST_CASE("server: no phone that stalls in a request or takes no answer holds up its end") {
  const Shelf shelf;
  shelf.addToPage("large.js", std::string(16U << 20, 'x'));  // More than a connection holds.
  auto server = std::make_unique<Running>(shelf.options());
  const Caller sender(server->port()), reader(server->port());
  sender.say("POST /api/v1/find HTTP/1.1\r\n" + kHost + "Content-Length: 100\r\n\r\n{");
  reader.say("GET /large.js HTTP/1.1\r\n" + kHost + "\r\n");
  std::this_thread::sleep_for(std::chrono::milliseconds(500));  // They are being answered.
  const auto told = std::chrono::steady_clock::now();
  server.reset();
  CHECK(std::chrono::steady_clock::now() - told < std::chrono::seconds(20));  // Else 30 and more.
}

TEST_CASE("server: neither a long address nor a long Range costs a stack") {
  const Shelf shelf;
  const Running server(shelf.options());
  const auto status = [&](const std::string& target, const std::string& header) {
    const Caller caller(server.port());
    caller.say("GET " + target + " HTTP/1.1\r\n" + kHost + header + "Connection: close\r\n\r\n");
    return caller.hear().substr(0, 13);
  };
  const std::string much(8000, '1');
  CHECK(status("/" + much, "") == "HTTP/1.1 414 ");
  CHECK(status("/?text=" + much, "") == "HTTP/1.1 200 ");
  CHECK(status("/", "Range: bytes=" + much + "\r\n") == "HTTP/1.1 400 ");
  CHECK(status("/", "Range: bytes=0-9\r\n") == "HTTP/1.1 200 ");
}

TEST_CASE("server: connections that ask again and again leave room for others") {
  const Shelf shelf;
  const Running server(shelf.options());
  const std::string ask = "GET / HTTP/1.1\r\n" + kHost + "\r\n";
  std::list<Caller> others;  // As many as the server has threads.
  for (int i = 0; i < 96; ++i) others.emplace_back(server.port()).say(ask);
  std::atomic<bool> heard = false;
  std::thread asking([&] {
    for (int round = 0; round < 40 && !heard; ++round) {
      for (const Caller& other : others) other.trySaying(ask);
      // No longer than until their connections would be taken for left.
      std::this_thread::sleep_for(std::chrono::milliseconds(500));
    }
  });
  const auto asked = std::chrono::steady_clock::now();
  const Caller late(server.port());
  late.say("GET / HTTP/1.1\r\n" + kHost + "Connection: close\r\n\r\n");
  CHECK(late.hear().starts_with("HTTP/1.1 200 "));
  CHECK(std::chrono::steady_clock::now() - asked < std::chrono::seconds(15));
  heard = true;
  asking.join();
}

TEST_CASE("server: a port that another server has is not shared with it") {
  const Shelf shelf, other;
  const auto first = std::make_unique<Running>(shelf.options());
  ServeOptions again = other.options();
  again.port = first->port();
  CHECK_THROWS_AS(Server{again}, BadInput);
}

TEST_CASE("server: a port is free for the next server once one has ended") {
  const Shelf shelf;
  ServeOptions options = shelf.options();
  {
    const Running first(options);
    options.port = first.port();
    // The server ends this connection itself, and the system remembers it for a minute.
    const Caller caller(first.port());
    caller.say("GET / HTTP/1.1\r\n" + kHost + "Connection: close\r\n\r\n");
    CHECK(caller.hear().starts_with("HTTP/1.1 200 "));
  }
  const Running next(options);
  CHECK(next.port() == options.port);
}

TEST_CASE("server: connections beyond those that may wait are ended at once") {
  const Shelf shelf;
  const Running server(shelf.options());
  std::list<Caller> others;  // As many as the server has threads, and as many as may wait.
  for (int i = 0; i < 96 + 200; ++i)
    others.emplace_back(server.port()).trySaying("GET / HTTP/1.1\r\n");
  bool ended = false;
  for (int tries = 0; tries < 100 && !ended; ++tries) {  // Those may be taken in only now.
    const Caller late(server.port());
    ended = late.isAnswered(50) && late.hear().empty();
  }
  CHECK(ended);
  others.clear();
  std::string answer;
  for (int tries = 0; tries < 200 && answer.empty(); ++tries) {
    const Caller late(server.port());
    late.trySaying("GET / HTTP/1.1\r\n" + kHost + "Connection: close\r\n\r\n");
    answer = late.hear();
  }
  CHECK(answer.starts_with("HTTP/1.1 200 "));
}

TEST_CASE("server: the answer is the last of its connection once another waits for a thread") {
  const Shelf shelf;
  const Running server(shelf.options());
  const std::string begun = "GET / HTTP/1.1\r\n" + kHost, rest = "\r\n";
  std::list<Caller> others;
  for (int i = 0; i < 96; ++i) others.emplace_back(server.port()).say(begun);
  const Caller& busy = others.front();
  const Caller late(server.port());
  late.say(begun + "Connection: close\r\n\r\n");
  std::string answer;
  // The next request has begun before this one is answered: the connection asks without a pause.
  for (int tries = 0; tries < 200 && answer.find("Connection: close") == std::string::npos;
       ++tries) {
    busy.say(rest + begun);
    answer = busy.hearUntil("</title>");
    std::this_thread::sleep_for(std::chrono::milliseconds(50));  // The late one may come only now.
  }
  CHECK(answer.find("Connection: close") != std::string::npos);
  CHECK(busy.hear() == "");
  CHECK(late.hear().starts_with("HTTP/1.1 200 "));
}

TEST_CASE(
    "server: one address has 24 connections, the next is told so, and one that ends is free") {
  const Shelf shelf;
  ServeOptions options = shelf.options();
  options.seats_here = true;
  const Running server(options);
  const std::string begun = "GET / HTTP/1.1\r\n" + kHost;
  std::list<Caller> callers;
  for (int i = 0; i < 25; ++i) callers.emplace_back(server.port()).say(begun);
  // Any one of them: they come in at the same time.
  const auto refused = [&] {
    for (int round = 0; round < 200; ++round)
      for (auto caller = callers.begin(); caller != callers.end(); ++caller)
        if (caller->isAnswered(4)) return caller;
    return callers.end();
  }();
  REQUIRE(refused != callers.end());
  CHECK(refused->hear().starts_with("HTTP/1.1 503 "));
  CHECK_FALSE(refused->isReset());
  callers.erase(refused);
  for (const Caller& caller : callers) CHECK_FALSE(caller.isAnswered(0));
  callers.pop_back();
  std::string answer;
  for (int tries = 0; tries < 200 && !answer.starts_with("HTTP/1.1 200 "); ++tries) {
    const Caller next(server.port());
    next.say(begun + "Connection: close\r\n\r\n");
    answer = next.hear();
    std::this_thread::sleep_for(std::chrono::milliseconds(50));  // Its end may not be noticed yet.
  }
  CHECK(answer.starts_with("HTTP/1.1 200 "));
}
