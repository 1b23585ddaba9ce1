// SPDX-License-Identifier: Apache-2.0
#include "catalog/request_guard.h"

#include <doctest/doctest.h>
#include <httplib.h>

#include <string>
#include <utility>
#include <vector>

using namespace holdshelf;

namespace {

using Headers = std::vector<std::pair<std::string, std::string>>;

httplib::Request requestOf(const std::string& method, const Headers& headers = {}) {
  httplib::Request request;
  request.method = method;
  request.path = "/api/v1/holds/H-0001/note";
  request.remote_addr = "127.0.0.1";
  request.headers.emplace("Host", "127.0.0.1:8484");
  for (const auto& [name, value] : headers) request.headers.emplace(name, value);
  if ((method == "POST" || method == "PUT") && !request.has_header("Content-Length"))
    request.headers.emplace("Content-Length", "0");
  return request;
}

/// Status it is turned down with; 0: it is not.
int statusOf(const httplib::Request& request, Role role = Role::Head) {
  const auto no = turnedDown(request, [role] { return role; });
  return no ? no->status : 0;
}

int statusOf(const std::string& method, const Headers& headers, Role role = Role::Head) {
  return statusOf(requestOf(method, headers), role);
}

}  // namespace

TEST_CASE("turnedDown: not what is asked of this machine by its names, once") {
  CHECK(statusOf("GET", {}) == 0);
  CHECK(statusOf("GET", {{"Host", "127.0.0.1"}}) == 421);  // Twice.
  httplib::Request request = requestOf("GET");
  request.headers.erase("Host");
  CHECK(statusOf(request) == 421);
  request.headers.emplace("Host", "example.org");
  CHECK(statusOf(request) == 421);
}

TEST_CASE("turnedDown: paths longer than any; a query may be long") {
  httplib::Request request = requestOf("GET");
  request.path = std::string(512, '/');
  request.params.emplace("text", std::string(8000, 'a'));
  CHECK(statusOf(request) == 0);
  request.path += "/";
  CHECK(statusOf(request) == 414);
}

TEST_CASE("turnedDown: changes that another site's page asks for") {
  CHECK(statusOf("POST", {{"Origin", "http://127.0.0.1:8484"}}) == 0);
  CHECK(statusOf("POST", {{"Sec-Fetch-Site", "same-origin"}}) == 0);
  CHECK(statusOf("POST", {{"Sec-Fetch-Site", "none"}}) == 0);
  CHECK(statusOf("POST", {{"Sec-Fetch-Site", "same-site"}}) == 403);
  CHECK(statusOf("POST", {{"Sec-Fetch-Site", "cross-site"}}) == 403);
  CHECK(statusOf("DELETE", {{"Origin", "http://127.0.0.1:9"}}) == 403);
  CHECK(statusOf("POST", {{"Origin", "https://127.0.0.1:8484"}}) == 403);
  CHECK(statusOf("POST", {{"Origin", "null"}}) == 403);
}

// W3C Fetch Metadata Request Headers: Sec-Fetch-Site, Sec-Fetch-Mode.
TEST_CASE("turnedDown: questions of another site's page, but not a link from it") {
  const auto status = [](const std::string& site, const std::string& mode) {
    return statusOf("GET", {{"Sec-Fetch-Site", site}, {"Sec-Fetch-Mode", mode}});
  };
  CHECK(status("cross-site", "no-cors") == 403);
  CHECK(status("cross-site", "cors") == 403);
  CHECK(status("cross-site", "navigate") == 0);
  CHECK(status("same-origin", "cors") == 0);
  CHECK(status("none", "navigate") == 0);
  httplib::Request page = requestOf("GET", {{"Sec-Fetch-Site", "cross-site"}});
  page.path = "/index.html";
  CHECK(statusOf(page) == 0);
}

TEST_CASE("turnedDown: addresses that are not UTF-8") {
  for (const auto& [text, fine] : {std::pair<std::string, bool>{"ä€😀", true},
                                   {"\xC3", false},       // Its follower is missing.
                                   {"\xA4", false},       // A follower alone.
                                   {"\xE2\x82z", false},  // The second follower is none.
                                   {"\xFF\x80\x80\x80", false}}) {
    CAPTURE(text);
    httplib::Request request = requestOf("GET");
    request.path = "/" + text;
    CHECK(statusOf(request) == (fine ? 0 : 400));
    request.path = "/";
    request.params.emplace("q", text);
    CHECK(statusOf(request) == (fine ? 0 : 400));
    request.params.clear();
    request.params.emplace(text, "q");
    CHECK(statusOf(request) == (fine ? 0 : 400));
  }
}

TEST_CASE("turnedDown: bodies of unsaid length, unknown methods") {
  for (const char* method : {"POST", "PUT"}) {
    CAPTURE(method);
    httplib::Request request = requestOf(method);
    CHECK(statusOf(request) == 0);
    request.headers.erase("Content-Length");
    CHECK(statusOf(request) == 411);
  }
  CHECK(statusOf("DELETE", {}) == 0);
  for (const char* method : {"PATCH", "PRI", "OPTIONS", "TRACE", "CONNECT"}) {
    CAPTURE(method);
    CHECK(statusOf(method, {}) == 501);
  }
}

TEST_CASE("turnedDown: bodies that could be anything, and ranges") {
  CHECK(statusOf("POST", {{"Transfer-Encoding", "chunked"}}) == 411);
  CHECK(statusOf("POST", {{"Content-Encoding", "gzip"}}) == 415);
  CHECK(statusOf("POST", {{"Content-Type", "multipart/form-data; boundary=x"}}) == 415);
  CHECK(statusOf("POST", {{"Content-Type", "application/x-www-form-urlencoded"}}) == 415);
  CHECK(statusOf("POST", {{"Content-Type", "application/json"}}) == 0);
  CHECK(statusOf("GET", {{"Range", "bytes=0-9"}}) == 0);
  CHECK(statusOf("GET", {{"Range", "bytes=0-9,20-29"}}) == 416);
  for (const char* length : {"", "-1", "1x", "0x10", "99999999999999999999999"})
    CHECK(statusOf("POST", {{"Content-Length", length}}) == 400);
  CHECK(statusOf("POST", {{"Content-Length", "1"}, {"Content-Length", "1"}}) == 400);
  CHECK(statusOf("GET", {{"Content-Length", "0"}}) == 0);
  CHECK(statusOf("GET", {{"Content-Length", "1"}}) == 400);
  CHECK(statusOf("HEAD", {{"Content-Length", "1"}}) == 400);
}

TEST_CASE("turnedDown: large bodies, but of who may take holds in") {
  const auto post = [](std::size_t length, Role role) {
    return statusOf("POST", {{"Content-Length", std::to_string(length)}}, role);
  };
  CHECK(post(65536, Role::None) == 0);
  CHECK(post(65537, Role::Set) == 413);
  CHECK(post(65537, Role::Log) == 0);
  CHECK(post(kMostBody, Role::Log) == 0);
  CHECK(post(kMostBody + 1, Role::Head) == 413);
  // Who asks is looked up only where it matters: a lookup takes a lock.
  CHECK_FALSE(turnedDown(requestOf("POST", {{"Content-Length", "65536"}}), []() -> Role {
    FAIL("asked for the role");
    return Role::None;
  }));
}

TEST_CASE("turnedDown: a large body of a device that is not paired, or not any more") {
  const auto post = [](const std::string& path, std::size_t length) {
    httplib::Request request = requestOf("POST", {{"Content-Length", std::to_string(length)}});
    request.path = path;
    return statusOf(request, Role::None);
  };
  CHECK(post("/api/v1/holds/H-0001/note", 65537) == 401);
  CHECK(post("/api/v1/holds/H-0001/note", kMostBody) == 401);
  CHECK(post("/api/v1/holds/H-0001/note", kMostBody + 1) == 413);  // Nobody may.
  CHECK(post("/api/v1/pair", 65537) == 413);                       // Everybody may, with less.
  CHECK(post("/", 65537) == 413);
}

TEST_CASE("sitsHere: at this machine, unless a proxy says that it passes on") {
  CHECK(sitsHere(requestOf("GET")));
  for (const char* header : {"Forwarded", "X-Forwarded-For", "Via"}) {
    CAPTURE(header);
    CHECK_FALSE(sitsHere(requestOf("GET", {{header, "192.0.2.9"}})));
  }
  httplib::Request away = requestOf("GET");
  away.remote_addr = "192.168.1.9";
  CHECK_FALSE(sitsHere(away));
}

TEST_CASE("tokenOf: its cookie among others") {
  const auto token = [](const std::string& cookies) {
    return tokenOf(requestOf("GET", {{"Cookie", cookies}}));
  };
  CHECK(token("holdshelf=abc") == "abc");
  CHECK(token("a=1; holdshelf=abc; b=2") == "abc");
  CHECK(token("a=1;holdshelf=abc") == "abc");
  CHECK(token("xholdshelf=abc") == "");
  CHECK(token("holdshelf") == "");
  CHECK(token(";;  ;") == "");
  CHECK(tokenOf(requestOf("GET")) == "");
}

TEST_CASE("wasCutOff: fewer bytes than the head says") {
  httplib::Request request = requestOf("PUT", {{"Content-Length", "5"}});
  request.body = "four";
  CHECK(wasCutOff(request));
  request.body = "fives";
  CHECK_FALSE(wasCutOff(request));
  CHECK_FALSE(wasCutOff(requestOf("GET")));
  CHECK_FALSE(wasCutOff(requestOf("PUT", {{"Content-Length", "x"}})));
}
