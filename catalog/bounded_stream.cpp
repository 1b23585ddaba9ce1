// SPDX-License-Identifier: Apache-2.0
#include "catalog/bounded_stream.h"

#include <linux/sockios.h>
#include <netdb.h>
#include <poll.h>
#include <sys/ioctl.h>
#include <sys/socket.h>

#include <algorithm>
#include <cctype>
#include <cerrno>
#include <cstring>
#include <string_view>

namespace holdshelf {
namespace {

using std::chrono::milliseconds;

constexpr std::string_view kRange = "range:";
constexpr milliseconds kGlance{100};  // So often a wait looks whether it has become pointless.

/// Whether the socket can be read (POLLIN) or written (POLLOUT) within that time.
bool comes(int socket, short event, milliseconds patience) {
  pollfd one{.fd = socket, .events = event, .revents = 0};
  return ::poll(&one, 1, static_cast<int>(std::max<milliseconds::rep>(patience.count(), 0))) > 0;
}

using NameOfEnd = int (*)(int, sockaddr*, socklen_t*);

void addressAndPort(NameOfEnd name_of, int socket, std::string& address, int& port) {
  sockaddr_storage storage{};
  socklen_t size = sizeof storage;
  std::array<char, NI_MAXHOST> host{};
  std::array<char, NI_MAXSERV> service{};
  auto* name = reinterpret_cast<sockaddr*>(&storage);
  if (name_of(socket, name, &size) != 0 ||
      ::getnameinfo(name, size, host.data(), host.size(), service.data(), service.size(),
                    NI_NUMERICHOST | NI_NUMERICSERV) != 0)
    return;
  address = host.data();
  port = std::atoi(service.data());
}

}  // namespace

std::string addressOfPeer(int socket) {
  std::string address;
  int port = 0;
  addressAndPort(::getpeername, socket, address, port);
  return address;
}

BoundedStream::BoundedStream(int socket, std::function<bool()> ended, const StreamLimits& limits)
    : socket_(socket), ended_(std::move(ended)), limits_(limits), began_(Clock::now()) {}

bool BoundedStream::awaitRequest(milliseconds patience, const std::function<bool()>& needed) {
  const Clock::time_point until = Clock::now() + patience;
  needed_ = needed;
  bool came = is_readable();
  for (auto now = Clock::now(); !came && now < until && !ended_() && !needed(); now = Clock::now())
    came = comes(socket_, POLLIN, std::min(kGlance, std::chrono::ceil<milliseconds>(until - now)));
  began_ = Clock::now();
  in_body_ = false;
  head_ = body_ = line_ = written_ = 0;
  waited_ = {};
  last_ = 0;
  return came;
}

bool BoundedStream::is_readable() const {
  return next_ < end_ || comes(socket_, POLLIN, milliseconds(0));
}

/// Not to one that has gone: found out here, a listener's place is free after its next event.
bool BoundedStream::is_writable() const {
  if (!comes(socket_, POLLOUT, milliseconds(0))) return false;
  char byte = 0;
  return !comes(socket_, POLLIN, milliseconds(0)) ||
         ::recv(socket_, &byte, 1, MSG_PEEK | MSG_DONTWAIT) > 0;
}

/// How many bytes more the request may have here.
std::size_t BoundedStream::allowed() const {
  if (in_body_) return limits_.body_bytes - body_;
  const std::size_t of_head = limits_.head_bytes - head_;
  const bool is_range = range_ && line_ >= kRange.size();
  return is_range ? std::min(of_head, limits_.range_bytes - line_) : of_head;
}

/// How long so many bytes may take.
BoundedStream::Clock::duration BoundedStream::earned(std::size_t bytes) const {
  const double earned_s = static_cast<double>(bytes) / static_cast<double>(std::max<std::size_t>(
                                                           limits_.slowest_bytes_per_s, 1));
  return limits_.patience +
         std::chrono::duration_cast<Clock::duration>(std::chrono::duration<double>(earned_s));
}

/// When the request that is being read has to be here.
BoundedStream::Clock::time_point BoundedStream::dueAt() const {
  const Clock::time_point due = began_ + earned(head_ + body_);
  const bool hurried = !in_body_ && needed_ && needed_();
  return hurried ? due - limits_.patience + limits_.crowded_patience : due;
}

/// Receives more. @return As read().
ssize_t BoundedStream::fill() {
  for (;;) {
    const auto left = std::chrono::ceil<milliseconds>(dueAt() - Clock::now());
    if (left <= milliseconds(0) || ended_()) return -1;
    if (!comes(socket_, POLLIN, std::min(kGlance, left))) continue;
    const ssize_t got = ::recv(socket_, held_.data(), held_.size(), MSG_DONTWAIT);
    if (got < 0 && (errno == EINTR || errno == EAGAIN)) continue;
    next_ = 0;
    end_ = got > 0 ? static_cast<std::size_t>(got) : 0;
    return got;
  }
}

/// The head ends with an empty line, as the library reads it: of CR and LF, after at least one
/// other.
void BoundedStream::count(const char* bytes, std::size_t size) {
  for (const char* byte = bytes; byte < bytes + size; ++byte) {
    if (in_body_) {
      body_ += static_cast<std::size_t>(bytes + size - byte);
      return;
    }
    if (line_ < kRange.size())
      range_ = (range_ || line_ == 0) &&
               std::tolower(static_cast<unsigned char>(*byte)) == kRange[line_];
    ++head_;
    ++line_;
    if (*byte == '\n') {
      in_body_ = line_ == 2 && last_ == '\r';
      line_ = 0;
    }
    last_ = *byte;
  }
}

ssize_t BoundedStream::read(char* bytes, std::size_t size) {
  if (allowed() == 0) return -1;
  if (next_ == end_)
    if (const ssize_t got = fill(); got <= 0) return got;
  // Of the head byte by byte, since what follows its end counts as body.
  const std::size_t most = in_body_ ? allowed() : 1;
  const std::size_t taken = std::min({size, end_ - next_, most});
  std::memcpy(bytes, held_.data() + next_, taken);
  next_ += taken;
  count(bytes, taken);
  return static_cast<ssize_t>(taken);
}

/// Bytes of the answer that are no longer here: the system takes megabytes before any goes out.
std::size_t BoundedStream::taken() const {
  int still_here = 0;
  ::ioctl(socket_, SIOCOUTQ, &still_here);
  return written_ - std::min(written_, static_cast<std::size_t>(still_here));
}

/// Waits until the other side takes more; only such waits count, as live events may be hours apart.
/// @return Whether it does in time.
bool BoundedStream::awaitRoom() {
  while (!comes(socket_, POLLOUT, milliseconds(0))) {
    const Clock::time_point before = Clock::now();
    if (!last_call_ && ended_()) last_call_ = before + limits_.grace;
    Clock::duration left = earned(taken()) - waited_;
    if (last_call_) left = std::min(left, *last_call_ - before);
    if (left <= Clock::duration(0)) return false;
    comes(socket_, POLLOUT, std::min(kGlance, std::chrono::ceil<milliseconds>(left)));
    waited_ += Clock::now() - before;
  }
  return true;
}

ssize_t BoundedStream::write(const char* bytes, std::size_t size) {
  for (;;) {
    if (!awaitRoom() || !is_writable()) return -1;
    const ssize_t sent = ::send(socket_, bytes, size, MSG_NOSIGNAL | MSG_DONTWAIT);
    if (sent < 0 && (errno == EINTR || errno == EAGAIN)) continue;
    if (sent > 0) written_ += static_cast<std::size_t>(sent);
    return sent;
  }
}

// RFC 9112, 9.6.
void BoundedStream::hangUp() {
  ::shutdown(socket_, SHUT_WR);
  const Clock::time_point until = Clock::now() + limits_.farewell;
  std::size_t dropped = 0;
  while (dropped < limits_.farewell_bytes) {
    const auto left = std::chrono::ceil<milliseconds>(until - Clock::now());
    if (left <= milliseconds(0)) return;
    if (!comes(socket_, POLLIN, left)) continue;  // Interrupted, or the time is up.
    const ssize_t got = ::recv(socket_, held_.data(), held_.size(), MSG_DONTWAIT);
    if (got < 0 && (errno == EINTR || errno == EAGAIN)) continue;
    if (got <= 0) return;
    dropped += static_cast<std::size_t>(got);
  }
}

void BoundedStream::get_remote_ip_and_port(std::string& address, int& port) const {
  addressAndPort(::getpeername, socket_, address, port);
}

void BoundedStream::get_local_ip_and_port(std::string& address, int& port) const {
  addressAndPort(::getsockname, socket_, address, port);
}

}  // namespace holdshelf
