// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <httplib.h>

#include <array>
#include <chrono>
#include <cstddef>
#include <functional>
#include <optional>
#include <string>

namespace holdshelf {

/// What a request may cost before anybody knows who asks.
struct StreamLimits {
  std::size_t head_bytes = 64U << 10;  ///< Request line and headers together.
  /// Of one Range header. The library reads it by a matcher that takes half a kilobyte of stack for
  /// each of its letters.
  std::size_t range_bytes = 256;
  std::size_t body_bytes = 9U << 20;
  /// A request has to be here after `patience` and the time its bytes so far take at this rate: a
  /// byte now and then does not hold a thread for good. An answer may wait for the other side to
  /// take more for no longer in all.
  std::chrono::milliseconds patience{30'000};
  /// The same for a head while somebody else needs the thread: who asks in earnest sends it at
  /// once.
  std::chrono::milliseconds crowded_patience{5'000};
  std::size_t slowest_bytes_per_s = 8U << 10;
  std::chrono::milliseconds grace{2'000};  ///< For an answer's rest once the server ends.
  /// What still comes while the connection is ended is taken in for so long, and so much of it.
  std::chrono::milliseconds farewell{1'000};
  std::size_t farewell_bytes = 16U << 20;
};

/// One connection as the HTTP library reads and writes it, with the limits that the library lacks:
/// it keeps a line of any length and any number of headers in memory, and waits anew for each byte.
/// Where a limit is passed, reading fails, and the library ends the connection. The socket stays
/// the caller's.
class BoundedStream final : public httplib::Stream {
 public:
  /// @param ended  Whether the server has: asked several times a second while anything is waited
  ///               for, so that no device holds up its end.
  BoundedStream(int socket, std::function<bool()> ended, const StreamLimits& limits = {});

  /// Waits for the first byte of the next request, whose limits count from then on.
  /// @param patience  How long, unless the server ends.
  /// @param needed  Whether somebody else needs the thread, who goes before one that asks nothing,
  ///                or begins to ask and does not go on. Asked until the next call of this.
  /// @return Whether it came.
  bool awaitRequest(std::chrono::milliseconds patience, const std::function<bool()>& needed);

  bool is_readable() const override;
  bool is_writable() const override;
  /// @return How many bytes were read; 0: the other side has ended; -1: a limit was passed, or the
  /// server ends.
  ssize_t read(char* bytes, std::size_t size) override;
  ssize_t write(const char* bytes, std::size_t size) override;
  using Stream::write;
  /// Ends what is said here, and takes in what the other side still sends until it ends, too. A
  /// socket that is closed before is reset, and an answer that is still on its way may be lost.
  void hangUp();
  void get_remote_ip_and_port(std::string& address, int& port) const override;
  void get_local_ip_and_port(std::string& address, int& port) const override;
  socket_t socket() const override { return socket_; }

 private:
  using Clock = std::chrono::steady_clock;

  std::size_t allowed() const;
  ssize_t fill();
  std::size_t taken() const;
  bool awaitRoom();
  void count(const char* bytes, std::size_t size);
  Clock::duration earned(std::size_t bytes) const;
  Clock::time_point dueAt() const;

  int socket_;
  std::function<bool()> ended_, needed_;
  StreamLimits limits_;
  std::array<char, 4096> held_{};  ///< Received, from next_ to end_ not read yet.
  std::size_t next_ = 0, end_ = 0;
  Clock::time_point began_;  ///< With what follows, of the request that is being read.
  bool in_body_ = false;
  std::size_t head_ = 0, body_ = 0;  ///< Bytes of it.
  std::size_t line_ = 0;             ///< Bytes of the head's line so far.
  bool range_ = false;               ///< As far as it goes, that line is a Range header.
  char last_ = 0;
  std::size_t written_ = 0;                     ///< Bytes of the answer.
  Clock::duration waited_{};                    ///< In all, for room to write them.
  std::optional<Clock::time_point> last_call_;  ///< For the answer: the server ends.
};

/// Address of the other side, as digits; empty: it is gone.
std::string addressOfPeer(int socket);

}  // namespace holdshelf
