// SPDX-License-Identifier: Apache-2.0
#include "catalog/http_reply.h"

#include <doctest/doctest.h>
#include <httplib.h>

#include <string>

using namespace holdshelf;

namespace {

httplib::Request request(const std::string& name = "", const std::string& value = "") {
  httplib::Request request;
  request.method = "GET";
  if (!name.empty()) request.headers.emplace(name, value);
  return request;
}

/// What the browser is sent as a body.
std::string bodyOf(httplib::Response& response) {
  if (!response.content_provider_) return response.body;
  std::string body;
  httplib::DataSink sink;
  sink.write = [&](const char* data, std::size_t length) {
    body.append(data, length);
    return true;
  };
  response.content_provider_(0, response.content_length_, sink);
  return body;
}

}  // namespace

TEST_CASE("sendReply: a browser loads nothing from elsewhere and keeps nothing without a tag") {
  httplib::Response response;
  sendReply(request(), response, {.body = "{}", .cookie = "holdshelf=x"});
  CHECK(response.status == 200);
  CHECK(response.get_header_value("Content-Security-Policy").starts_with("default-src 'none';"));
  CHECK(response.get_header_value("X-Content-Type-Options") == "nosniff");
  CHECK(response.get_header_value("Cache-Control") == "no-store");
  CHECK(response.get_header_value("Set-Cookie") == "holdshelf=x");
  CHECK(response.get_header_value("Content-Type") == "application/json");
  CHECK(bodyOf(response) == "{}");
}

TEST_CASE("sendReply: what the browser has by its tag is not sent again") {
  const ApiReply reply = {.body = "abc", .tag = "t1"};
  httplib::Response fresh, known, other;
  sendReply(request(), fresh, reply);
  CHECK(fresh.get_header_value("ETag") == "\"t1\"");
  CHECK(fresh.get_header_value("Cache-Control") == "no-cache");  // Ask each time.
  CHECK(bodyOf(fresh) == "abc");
  sendReply(request("If-None-Match", "\"t1\""), known, reply);
  CHECK(known.status == 304);
  CHECK(bodyOf(known).empty());
  sendReply(request("If-None-Match", "\"t0\""), other, reply);
  CHECK(other.status == 200);
}

TEST_CASE("sendReply: compressed for who takes it, where that gains something") {
  const std::string text(5000, 'x');
  const auto sent = [&](const ApiReply& reply, const char* takes) {
    httplib::Response response;
    sendReply(request("Accept-Encoding", takes), response, reply);
    const std::string body = bodyOf(response);
    CHECK(response.has_header("Content-Encoding") == (body != reply.body));
    return body.size();
  };
  CHECK(sent({.body = text}, "br, gzip") < 100);
  CHECK(sent({.body = text}, "br") == 5000);
  CHECK(sent({.body = text.substr(0, 1400)}, "gzip") == 1400);       // One packet anyway.
  CHECK(sent({.type = "image/png", .body = text}, "gzip") == 5000);  // Compressed already.
}

TEST_CASE("sendReply: nothing but the answer, whatever part of it is asked for") {
  httplib::Response response;
  sendReply(request(), response, {.body = "abcdef"});
  CHECK(response.get_header_value("Accept-Ranges") == "none");
  std::string sent;
  httplib::DataSink sink;
  sink.write = [&](const char* data, std::size_t length) {
    sent.append(data, length);
    return true;
  };
  CHECK_FALSE(response.content_provider_(0, 7, sink));
  CHECK_FALSE(response.content_provider_(6, 1, sink));
  CHECK_FALSE(response.content_provider_(999'999, 9, sink));
  CHECK_FALSE(response.content_provider_(2, static_cast<std::size_t>(-1), sink));
  CHECK(sent.empty());
  CHECK(response.content_provider_(2, 4, sink));
  CHECK(sent == "cdef");
}

TEST_CASE("sendFile: as compressed when it was read") {
  const auto file = std::make_shared<const WebFile>(WebFile{"text/css", "plain", "packed", "t"});
  httplib::Response plain, packed, known;
  sendFile(request(), plain, file);
  CHECK(bodyOf(plain) == "plain");
  sendFile(request("Accept-Encoding", "gzip"), packed, file);
  CHECK(bodyOf(packed) == "packed");
  CHECK(packed.get_header_value("Content-Encoding") == "gzip");
  sendFile(request("If-None-Match", "\"t\""), known, file);
  CHECK(known.status == 304);
}

TEST_CASE("turnDown: all of the answer, then the connection ends, also for HEAD and a range") {
  httplib::Request head = request();
  head.method = "HEAD";
  head.ranges = {{0, 1}};
  httplib::Response response;
  turnDown(head, response, {.status = 413, .body = "{\"a\": 1}"});
  CHECK(response.status == 413);
  CHECK(response.get_header_value("Connection") == "close");
  CHECK(response.get_header_value("Content-Length") == "8");
  CHECK(head.method == "GET");
  CHECK(head.ranges.empty());
  std::string body;
  httplib::DataSink sink;
  sink.write = [&](const char* data, std::size_t length) {
    body.append(data, length);
    return true;
  };
  CHECK_FALSE(response.content_provider_(0, 0, sink));  // Which ends the connection.
  CHECK(body == "{\"a\": 1}");
}
