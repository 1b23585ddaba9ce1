// SPDX-License-Identifier: Apache-2.0
#include "catalog/own_address.h"

#include <doctest/doctest.h>
#include <unistd.h>

#include <array>
#include <cctype>
#include <string>

using namespace holdshelf;

namespace {

std::string hostName() {
  std::array<char, 256> name{};
  REQUIRE(::gethostname(name.data(), name.size() - 1) == 0);
  return name.data();
}

}  // namespace

TEST_CASE("namesThisMachine: addresses and own names, and nobody else's") {
  for (const std::string own : {"localhost", "LocalHost:8484", "127.0.0.1", "192.168.1.5:8484",
                                "[::1]", "[fe80::1]:8484", ""}) {
    CAPTURE(own);
    CHECK(namesThisMachine(own) == !own.empty());
  }
  for (const std::string& own : {hostName(), hostName() + ".local", hostName() + ":8484"}) {
    CAPTURE(own);
    CHECK(namesThisMachine(own));
  }
  // A name that a foreign site lets resolve to this machine.
  for (const std::string foreign : {"example.org", "example.org:8484", "127.0.0.1.example.org",
                                    "localhost.example.org", "1.2.3.x", "localhost:84a", ":8484"}) {
    CAPTURE(foreign);
    CHECK_FALSE(namesThisMachine(foreign));
  }
  CHECK_FALSE(namesThisMachine(hostName() + ".example.org"));
}

TEST_CASE("isLoopback: IPv4, IPv6 and the one written as the other") {
  for (const char* here : {"127.0.0.1", "127.1.2.3", "::1", "::ffff:127.0.0.1"})
    CHECK(isLoopback(here));
  for (const char* away : {"192.168.1.5", "::", "fe80::1", "::ffff:10.0.0.1", "12.7.0.0", ""})
    CHECK_FALSE(isLoopback(away));
}

TEST_CASE("page addresses: as asked for, IPv6 in brackets, and by this machine's name") {
  CHECK(pageAddresses("192.168.1.5", 80) == std::vector<std::string>{"http://192.168.1.5:80/"});
  CHECK(pageAddresses("fe80::1", 8484) == std::vector<std::string>{"http://[fe80::1]:8484/"});
  for (const std::string& address : pageAddresses("0.0.0.0", 8484)) {  // None without a network.
    CAPTURE(address);
    CHECK(address.starts_with("http://"));
    CHECK(address.ends_with(":8484/"));
    CHECK(address.find("//127.") == std::string::npos);
    CHECK(address.find("0.0.0.0") == std::string::npos);
  }
  std::string name = hostName();
  for (char& c : name) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  if (name.find('.') == std::string::npos) name += ".local";
  CHECK(ownPageAddress(8484) == "http://" + name + ":8484/");
}
