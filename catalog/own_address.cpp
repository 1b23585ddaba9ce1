// SPDX-License-Identifier: Apache-2.0
#include "catalog/own_address.h"

#include <arpa/inet.h>
#include <ifaddrs.h>
#include <net/if.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cctype>

namespace holdshelf {
namespace {

bool isAddress(const std::string& host) {
  const bool v6 = host.starts_with('[');
  return v6 || (!host.empty() && std::all_of(host.begin(), host.end(), [](unsigned char c) {
           return std::isdigit(c) || c == '.';
         }));
}

std::string withoutPort(const std::string& host) {
  const std::size_t colon = host.rfind(':');
  const bool v6_only = host.starts_with('[') && host.ends_with(']');
  if (colon == std::string::npos || v6_only) return host;
  const bool port = std::all_of(host.begin() + static_cast<std::ptrdiff_t>(colon) + 1, host.end(),
                                [](unsigned char c) { return std::isdigit(c); });
  return port ? host.substr(0, colon) : host;
}

std::string lower(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return text;
}

/// This machine's addresses on its networks (IPv4: what a phone can be told by a short code).
std::vector<std::string> ownAddresses() {
  std::vector<std::string> found;
  ifaddrs* list = nullptr;
  if (::getifaddrs(&list) != 0) return found;
  for (const ifaddrs* one = list; one != nullptr; one = one->ifa_next) {
    if (one->ifa_addr == nullptr || one->ifa_addr->sa_family != AF_INET) continue;
    if ((one->ifa_flags & IFF_LOOPBACK) != 0 || (one->ifa_flags & IFF_UP) == 0) continue;
    std::array<char, INET_ADDRSTRLEN> text{};
    const auto* address = reinterpret_cast<const sockaddr_in*>(one->ifa_addr);
    if (::inet_ntop(AF_INET, &address->sin_addr, text.data(), text.size()) != nullptr)
      found.emplace_back(text.data());
  }
  ::freeifaddrs(list);
  return found;
}

}  // namespace

bool isLoopback(const std::string& address) {
  return address.starts_with("127.") || address == "::1" || address.starts_with("::ffff:127.");
}

bool namesThisMachine(const std::string& host_header) {
  const std::string host = lower(withoutPort(host_header));
  if (isAddress(host) || host == "localhost") return true;
  std::array<char, 256> name{};
  if (::gethostname(name.data(), name.size() - 1) != 0) return false;
  const std::string own = lower(name.data());
  return host == own || host == own + ".local";
}

std::string ownPageAddress(int port) {
  std::array<char, 256> name{};
  if (::gethostname(name.data(), name.size() - 1) != 0) return "";
  const std::string host = lower(name.data());
  return "http://" + host + (host.find('.') == std::string::npos ? ".local" : "") + ":" +
         std::to_string(port) + "/";
}

std::vector<std::string> pageAddresses(const std::string& host, int port) {
  const bool all = host == "0.0.0.0" || host == "::";
  std::vector<std::string> addresses = all ? ownAddresses() : std::vector<std::string>{host};
  for (std::string& one : addresses)
    one = "http://" + (one.find(':') == std::string::npos ? one : "[" + one + "]") + ":" +
          std::to_string(port) + "/";
  return addresses;
}

}  // namespace holdshelf
