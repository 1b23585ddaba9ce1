// SPDX-License-Identifier: Apache-2.0
#include "tests/reliability/durability/http_client.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdlib>
#include <cstring>

namespace holdshelf::test {
namespace {

/// What the call says once no signal has cut it short: the fuzzer's clock sends one now and then.
template <typename Call>
auto again(const Call& call) {
  auto result = call();
  while (result < 0 && errno == EINTR) result = call();
  return result;
}

/// A connection that a signal has cut short is made all the same (POSIX, connect). @return Whether
/// it is there; errno says why not.
bool connected(int socket, const sockaddr_in& to) {
  if (::connect(socket, reinterpret_cast<const sockaddr*>(&to), sizeof to) == 0) return true;
  if (errno != EINTR) return false;
  pollfd made{socket, POLLOUT, 0};
  again([&] { return ::poll(&made, 1, -1); });
  int error = 0;
  socklen_t size = sizeof error;
  ::getsockopt(socket, SOL_SOCKET, SO_ERROR, &error, &size);
  errno = error;
  return error == 0;
}

/// The body of a reply that was sent in chunks (RFC 9112, 7.1), as whole as it came.
std::string unchunked(const std::string& text) {
  std::string body;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t line = text.find("\r\n", at);
    if (line == std::string::npos) break;
    const unsigned long size = std::strtoul(text.c_str() + at, nullptr, 16);
    if (size == 0) break;
    body += text.substr(line + 2, size);
    at = line + 2 + size + 2;
  }
  return body;
}

}  // namespace

std::string exchangeBytes(int port, const std::string& bytes, int limit_s, int patience_ms) {
  const int socket = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  if (socket < 0) return {};
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_port = htons(static_cast<std::uint16_t>(port));
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  const timeval limit{limit_s, 0};
  ::setsockopt(socket, SOL_SOCKET, SO_RCVTIMEO, &limit, sizeof limit);
  ::setsockopt(socket, SOL_SOCKET, SO_SNDTIMEO, &limit, sizeof limit);
  std::string reply;
  if (!connected(socket, address)) {
    reply = std::string("no connection: ") + std::strerror(errno);
  } else {
    for (std::size_t sent = 0; sent < bytes.size();) {
      const ssize_t size = again(
          [&] { return ::send(socket, bytes.data() + sent, bytes.size() - sent, MSG_NOSIGNAL); });
      if (size <= 0) break;
      sent += static_cast<std::size_t>(size);
    }
    pollfd answer{socket, POLLIN, 0};
    char buffer[16384];
    for (ssize_t size = 1; size > 0;) {
      if (patience_ms > 0 && again([&] { return ::poll(&answer, 1, patience_ms); }) == 0) {
        ::shutdown(socket, SHUT_WR);
        patience_ms = 0;
      }
      size = again([&] { return ::recv(socket, buffer, sizeof buffer, 0); });
      if (size > 0) reply.append(buffer, static_cast<std::size_t>(size));
      if (size < 0 && reply.empty()) reply = std::string("no answer: ") + std::strerror(errno);
    }
  }
  ::close(socket);
  return reply;
}

HttpAnswer askServer(int port, const std::string& method, const std::string& target,
                     const std::string& body) {
  const std::string reply = exchangeBytes(
      port, method + " " + target + " HTTP/1.1\r\nHost: localhost:" + std::to_string(port) +
                "\r\nConnection: close\r\nContent-Length: " + std::to_string(body.size()) +
                "\r\n\r\n" + body);
  HttpAnswer answer;
  answer.body = reply;
  const std::size_t blank = reply.find("\r\n\r\n");
  if (!reply.starts_with("HTTP/1.1 ") || blank == std::string::npos) return answer;
  answer.status = std::atoi(reply.c_str() + 9);
  answer.body = reply.substr(blank + 4);
  const std::string head = reply.substr(0, blank);
  if (head.find("Transfer-Encoding: chunked") != std::string::npos)
    answer.body = unchunked(answer.body);
  return answer;
}

}  // namespace holdshelf::test
