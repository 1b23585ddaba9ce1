// SPDX-License-Identifier: Apache-2.0
#include "catalog/bounded_stream.h"

#include <doctest/doctest.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <string>
#include <thread>

using namespace holdshelf;
using std::chrono::milliseconds;

namespace {

/// Two ends of a connection: what `there` sends, a stream at `here` reads.
struct Connection {
  Connection() { REQUIRE(::socketpair(AF_UNIX, SOCK_STREAM, 0, ends) == 0); }
  ~Connection() {
    ::close(ends[0]);
    hangUp();
  }
  Connection(const Connection&) = delete;
  Connection& operator=(const Connection&) = delete;

  int here() const { return ends[0]; }
  void send(const std::string& text) const {
    REQUIRE(::send(ends[1], text.data(), text.size(), MSG_NOSIGNAL) ==
            static_cast<ssize_t>(text.size()));
  }
  void hangUp() {
    if (ends[1] >= 0) ::close(ends[1]);
    ends[1] = -1;
  }

  int ends[2] = {-1, -1};
};

bool notEnded() { return false; }
bool notNeeded() { return false; }

/// All that can be read, and what reading said in the end.
struct Taken {
  std::string text;
  ssize_t end = 0;
};

Taken takeAll(BoundedStream& stream, std::size_t most = 1U << 20) {
  Taken taken;
  char buffer[1000];
  while (taken.text.size() < most) {
    taken.end = stream.read(buffer, std::min(sizeof buffer, most - taken.text.size()));
    if (taken.end <= 0) break;
    taken.text.append(buffer, static_cast<std::size_t>(taken.end));
  }
  return taken;
}

}  // namespace

TEST_CASE("bounded stream: what was sent, and what comes after it, is read as it is") {
  Connection connection;
  BoundedStream stream(connection.here(), notEnded);
  const std::string text = "PUT / HTTP/1.1\r\nHost: a\r\n\r\nabc";
  connection.send(text + text);
  for (int request = 0; request < 2; ++request) {  // The second one came along with the first.
    CHECK(stream.awaitRequest(std::chrono::seconds(9), notNeeded));
    CHECK(takeAll(stream, text.size()).text == text);
  }
  connection.hangUp();
  CHECK(takeAll(stream).end == 0);
}

TEST_CASE("bounded stream: a head of so many bytes, in one line or in many") {
  for (const std::string& head : {std::string(200, 'a'), std::string(100, '\n'), [] {
                                    std::string lines = "GET / HTTP/1.1\r\n";
                                    while (lines.size() < 200) lines += "A: b\r\n";
                                    return lines;
                                  }()}) {
    CAPTURE(head);
    Connection connection;
    BoundedStream stream(connection.here(), notEnded, {.head_bytes = 100});
    connection.send(head);
    const Taken taken = takeAll(stream);
    CHECK(taken.text == head.substr(0, 100));
    CHECK(taken.end == -1);
  }
}

TEST_CASE("bounded stream: a Range header of so many bytes, and others of more") {
  const std::string first = "GET / HTTP/1.1\r\n", digits(100, '1');
  const auto read = [](const std::string& head) {
    Connection connection;
    BoundedStream stream(connection.here(), notEnded, {.range_bytes = 40});
    connection.send(head);
    connection.hangUp();
    return takeAll(stream);
  };
  for (const char* name : {"Range:", "rANGE:", "RANGE:bytes="}) {
    CAPTURE(name);
    const Taken taken = read(first + name + digits);
    CHECK(taken.end == -1);
    CHECK(taken.text.size() == first.size() + 40);
  }
  for (const char* name : {"Ranges:", "If-Range:", "X:Range:", "Rang", ":", "Range: 1-\r\nX: "}) {
    CAPTURE(name);
    CHECK(read(first + name + digits).end == 0);
  }
  CHECK(read(first + "\r\nRange:" + digits).end == 0);  // In a body.
}

TEST_CASE("bounded stream: a body of so many bytes, and each request has its own") {
  Connection connection;
  BoundedStream stream(connection.here(), notEnded, {.head_bytes = 30, .body_bytes = 50});
  const std::string head = "POST / HTTP/1.1\r\nA: b\r\n\r\n", body(50, 'x');
  for (int request = 0; request < 3; ++request) {
    connection.send(head + body);
    CHECK(stream.awaitRequest(std::chrono::seconds(9), notNeeded));
    CHECK(takeAll(stream, head.size() + body.size()).text == head + body);
  }
  connection.send(head + body + body);
  CHECK(stream.awaitRequest(std::chrono::seconds(9), notNeeded));
  const Taken taken = takeAll(stream);
  CHECK(taken.text == head + body);
  CHECK(taken.end == -1);
}

TEST_CASE("bounded stream: a byte now and then does not go on for ever, a steady one does") {
  // In all twice what the patience alone would let pass.
  constexpr milliseconds kPatience{500};
  constexpr int kSteadyBytes = 1000;
  const auto read = [&](std::size_t slowest, int earned, int most) {
    Connection connection;
    connection.send(std::string(static_cast<std::size_t>(earned), 'a'));
    std::atomic<bool> done = false;
    std::thread other([&] {
      for (int i = earned; i < most && !done; ++i) {
        if (::send(connection.ends[1], "a", 1, MSG_NOSIGNAL) != 1) break;
        std::this_thread::sleep_for(milliseconds(1));
      }
      ::shutdown(connection.ends[1], SHUT_WR);
    });
    BoundedStream stream(connection.here(), notEnded,
                         {.patience = kPatience, .slowest_bytes_per_s = slowest});
    const Taken taken = takeAll(stream);
    done = true;
    other.join();
    return taken;
  };
  // A thousand times quicker than it comes, which is for a minute if nothing ends it.
  CHECK(read(1'000'000, 0, 60'000).end == -1);
  // The first bytes, there from the start, earn a minute, however late the other thread runs.
  const Taken steady = read(1, 60, kSteadyBytes);
  CHECK(steady.end == 0);
  CHECK(steady.text.size() == kSteadyBytes);
}

TEST_CASE("bounded stream: the next request is waited for until the patience or the server ends") {
  Connection connection;
  int asked = 0, ends_when_asked = 0;
  BoundedStream stream(connection.here(), [&] { return ++asked == ends_when_asked; });
  CHECK_FALSE(stream.awaitRequest(milliseconds(20), notNeeded));
  ends_when_asked = asked + 3;
  CHECK_FALSE(stream.awaitRequest(std::chrono::hours(1), notNeeded));
  connection.send("G");
  CHECK(stream.awaitRequest(std::chrono::hours(1), notNeeded));
}

TEST_CASE("bounded stream: whoever asks nothing gives way, but not what has been asked") {
  Connection connection;
  BoundedStream stream(connection.here(), notEnded);
  int asked = 0;
  CHECK_FALSE(stream.awaitRequest(std::chrono::hours(1), [&] { return ++asked == 3; }));
  connection.send("G");
  CHECK(stream.awaitRequest(std::chrono::hours(1), [] { return true; }));
}

TEST_CASE("bounded stream: a head that does not go on gives way too, but not a body") {
  const auto end_of = [](const std::string& sent, bool needed) {
    Connection connection;
    connection.send(sent);
    BoundedStream stream(connection.here(), notEnded,
                         {.patience = milliseconds(400), .crowded_patience = milliseconds(1)});
    CHECK(stream.awaitRequest(std::chrono::seconds(9), [&] { return needed; }));
    const auto before = std::chrono::steady_clock::now();
    const Taken taken = takeAll(stream);
    CHECK(taken.text == sent);
    CHECK(taken.end == -1);
    return std::chrono::steady_clock::now() - before;
  };
  const std::string head = "PUT / HTTP/1.1\r\n";
  CHECK(end_of(head, false) >= milliseconds(380));
  CHECK(end_of(head, true) < milliseconds(380));
  CHECK(end_of(head + "\r\nabc", true) >= milliseconds(380));
}

TEST_CASE("bounded stream: an answer is not taken in drops for ever") {
  const auto written = [](std::size_t slowest) {
    Connection connection;
    std::atomic<std::size_t> drunk = 0;
    std::thread other([&] {
      std::string drop(2'000, ' ');
      ssize_t got = 0;
      while ((got = ::recv(connection.ends[1], drop.data(), drop.size(), 0)) > 0) {
        drunk += static_cast<std::size_t>(got);
        std::this_thread::sleep_for(milliseconds(1));
      }
    });
    BoundedStream stream(connection.here(), notEnded,
                         {.patience = milliseconds(20), .slowest_bytes_per_s = slowest});
    const std::string piece(10'000, 'x');
    std::size_t all = 0;  // 2 MB take the other side a second.
    for (ssize_t sent = 1; all < 2'000'000 && sent > 0;) {
      sent = stream.write(piece.data(), piece.size());
      if (sent > 0) all += static_cast<std::size_t>(sent);
      // The first bytes earn time before any is needed.
      while (all < 300'000 && drunk < all) std::this_thread::yield();
    }
    ::shutdown(connection.here(), SHUT_RDWR);
    other.join();
    return all;
  };
  CHECK(written(1U << 30) < 2'000'000);
  CHECK(written(1) >= 2'000'000);
}

TEST_CASE("bounded stream: what is written now and then is written for ever") {
  Connection connection;
  BoundedStream stream(connection.here(), notEnded,
                       {.patience = milliseconds(1), .slowest_bytes_per_s = 1U << 30});
  for (int event = 0; event < 5; ++event) {
    CHECK(stream.write("abc", 3) == 3);
    std::this_thread::sleep_for(milliseconds(2));
  }
}

TEST_CASE("bounded stream: the server's end is noticed in the midst of a request or an answer") {
  Connection connection;
  int asked = 0;
  BoundedStream stream(connection.here(), [&] { return ++asked > 2; },
                       {.patience = std::chrono::hours(1), .grace = milliseconds(50)});
  connection.send("PUT");
  const Taken taken = takeAll(stream);
  CHECK(taken.text == "PUT");
  CHECK(taken.end == -1);
  // An answer still goes out to whoever takes it, and no further than that.
  CHECK(stream.write("abc", 3) == 3);
  const std::string much(1U << 20, 'x');
  ssize_t sent = 1;
  for (int i = 0; i < 100 && sent > 0; ++i) sent = stream.write(much.data(), much.size());
  CHECK(sent == -1);
}

TEST_CASE("bounded stream: what is unread when it hangs up costs the other side no answer") {
  Connection connection;
  connection.send(std::string(20'000, 'x'));
  ::shutdown(connection.ends[1], SHUT_WR);
  BoundedStream stream(connection.here(), notEnded);
  CHECK(stream.write("abc", 3) == 3);
  stream.hangUp();
  ::close(connection.ends[0]);
  connection.ends[0] = -1;
  char buffer[8];
  CHECK(::recv(connection.ends[1], buffer, sizeof buffer, 0) == 3);
  CHECK(::recv(connection.ends[1], buffer, sizeof buffer, 0) == 0);  // -1: it was reset.
}

TEST_CASE("bounded stream: hanging up waits for so long and takes so much") {
  Connection silent;
  BoundedStream(silent.here(), notEnded, {.farewell = milliseconds(20)}).hangUp();
  Connection endless;
  std::thread other([&] {
    const std::string piece(10'000, 'x');
    while (::send(endless.ends[1], piece.data(), piece.size(), MSG_NOSIGNAL) > 0) {
    }
  });
  BoundedStream(endless.here(), notEnded,
                {.farewell = std::chrono::hours(1), .farewell_bytes = 1U << 20})
      .hangUp();
  ::shutdown(endless.here(), SHUT_RDWR);
  other.join();
}

TEST_CASE("bounded stream: writes to who is there, not to who has gone or takes nothing") {
  Connection connection;
  BoundedStream stream(connection.here(), notEnded,
                       {.patience = milliseconds(50), .slowest_bytes_per_s = 1U << 30});
  CHECK(stream.write("abc", 3) == 3);
  char buffer[8];
  CHECK(::recv(connection.ends[1], buffer, sizeof buffer, 0) == 3);
  const std::string much(1U << 20, 'x');
  ssize_t sent = 1;
  for (int i = 0; i < 100 && sent > 0; ++i) sent = stream.write(much.data(), much.size());
  CHECK(sent == -1);  // Its buffers are full.
  Connection other;
  BoundedStream to_other(other.here(), notEnded);
  other.hangUp();
  CHECK(to_other.write("abc", 3) == -1);
}
