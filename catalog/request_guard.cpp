// SPDX-License-Identifier: Apache-2.0
#include "catalog/request_guard.h"

#include <httplib.h>

#include <algorithm>
#include <charconv>

#include "catalog/own_address.h"

namespace holdshelf {
namespace {

constexpr std::size_t kMostQuestion = 64U << 10;  // All but a piece of a photo.
constexpr std::size_t kLongestPath = 512;         // Decoded, without its query; ours have 100.

/// A change is asked for by our own page or by a program, never by another site's page.
bool comesFromUs(const httplib::Request& request) {
  const std::string site = request.get_header_value("Sec-Fetch-Site");
  if (!site.empty() && site != "same-origin" && site != "none") return false;
  const std::string origin = request.get_header_value("Origin");
  return origin.empty() || origin == "http://" + request.get_header_value("Host");
}

/// Something of another site's page asks, which would make this machine work and reads nothing of
/// the answer. A link there that leads here is somebody's wish.
bool isAskedByAnotherPage(const httplib::Request& request) {
  return request.get_header_value("Sec-Fetch-Site") == "cross-site" &&
         request.get_header_value("Sec-Fetch-Mode") != "navigate";
}

/// Well-formed by its bytes' leads and followers (RFC 3629, without its finer bans).
bool isUtf8(const std::string& text) {
  int followers = 0;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    const bool follower = (byte & 0xC0) == 0x80;
    if (follower != (followers > 0) || byte >= 0xF8) return false;
    followers = follower ? followers - 1 : byte < 0x80 ? 0 : byte < 0xE0 ? 1 : byte < 0xF0 ? 2 : 3;
  }
  return followers == 0;
}

/// Length of the body that follows; nullopt when the header is no number.
std::optional<std::size_t> bodyLength(const httplib::Request& request) {
  if (request.get_header_value_count("Content-Length") == 0) return 0;
  const std::string text = request.get_header_value("Content-Length");
  std::size_t length = 0;
  const char* end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, length);
  if (error != std::errc{} || stop != end || request.get_header_value_count("Content-Length") > 1)
    return std::nullopt;
  return length;
}

/// Whether only a paired device may ask for it.
bool needsRole(const httplib::Request& request) {
  return request.path.starts_with("/api/") &&
         std::none_of(apiRoutes().begin(), apiRoutes().end(), [&](const ApiRoute& route) {
           return route.role == Role::None && route.method == request.method &&
                  route.path == request.path;
         });
}

}  // namespace

bool wasCutOff(const httplib::Request& request) {
  const auto length = bodyLength(request);
  return length && request.body.size() < *length;
}

bool sitsHere(const httplib::Request& request) {
  return isLoopback(request.remote_addr) && !request.has_header("Forwarded") &&
         !request.has_header("X-Forwarded-For") && !request.has_header("Via");
}

std::string tokenOf(const httplib::Request& request) {
  const std::string cookies = request.get_header_value("Cookie");
  const std::string name = "holdshelf=";
  std::size_t start = 0;
  while (start < cookies.size()) {
    const std::size_t end = std::min(cookies.find(';', start), cookies.size());
    const std::size_t first = cookies.find_first_not_of(' ', start);
    if (first < end && cookies.compare(first, name.size(), name) == 0)
      return cookies.substr(first + name.size(), end - first - name.size());
    start = end + 1;
  }
  return "";
}

std::optional<ApiReply> turnedDown(const httplib::Request& request,
                                   const std::function<Role()>& role_of) {
  if (request.get_header_value_count("Host") != 1 ||
      !namesThisMachine(request.get_header_value("Host")))
    return problemReply(421, "This server answers to its own address only.");
  // The library finds the route by a matcher that takes half a kilobyte of stack for each letter.
  if (request.path.size() > kLongestPath)
    return problemReply(414, "This address is longer than any that this server has.");
  const bool reads = request.method == "GET" || request.method == "HEAD";
  if (!reads && !comesFromUs(request))
    return problemReply(403, "Changes can be made from the gym's own page only.");
  if (request.path.starts_with("/api/") && isAskedByAnotherPage(request))
    return problemReply(403, "The gym's own page alone may ask this.");
  bool readable = isUtf8(request.path);
  for (const auto& [name, value] : request.params)
    readable = readable && isUtf8(name) && isUtf8(value);
  if (!readable) return problemReply(400, "The address is not written in UTF-8.");
  if (request.has_header("Transfer-Encoding"))
    return problemReply(411, "Say in Content-Length how long the body is.");
  // A few bytes of it could unfold to more than the machine holds; of a form's the library makes
  // words of the address, after they have been looked at here.
  const std::string type = request.get_header_value("Content-Type");
  if (request.has_header("Content-Encoding") || type.starts_with("multipart/") ||
      type.starts_with("application/x-www-form-urlencoded"))
    return problemReply(415,
                        "Send the body as it is, neither compressed nor as a form or in parts.");
  if (request.get_header_value("Range").find(',') != std::string::npos)
    return problemReply(416, "Ask for one range at a time.");
  const auto length = bodyLength(request);
  if (!length) return problemReply(400, "Content-Length is no number.");
  const bool writes = request.method == "POST" || request.method == "PUT";
  const bool takes = writes || request.method == "DELETE";
  if (*length > 0 && !takes) return problemReply(400, "A question of this kind has no body.");
  if (!reads && !takes) return problemReply(501, "This server knows no such method.");
  // The library would read on for as long as anything comes.
  if (writes && request.get_header_value_count("Content-Length") == 0)
    return problemReply(411, "Say in Content-Length how long the body is.");
  if (*length <= kMostQuestion) return std::nullopt;
  const Role role = role_of();
  if (*length <= kMostBody && role >= Role::Log) return std::nullopt;
  // One that was withdrawn while it sends a photo has to learn that, not that its piece is large.
  if (*length <= kMostBody && role == Role::None && needsRole(request))
    return problemReply(401, "This device is not paired: ask for a code at the gym's computer.");
  return problemReply(413, "This is larger than the server takes at once.");
}

}  // namespace holdshelf
