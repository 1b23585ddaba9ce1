// SPDX-License-Identifier: Apache-2.0
// Raw bytes sent to the running server, as any device in the network may; the answers have to be
// whole HTTP replies and the server has to answer a plain question afterwards.
#include <chrono>
#include <memory>
#include <stdexcept>
#include <thread>

#include "catalog/library.h"
#include "catalog/server.h"
#include "tests/reliability/durability/http_client.h"
#include "tests/reliability/fuzz/target.h"

namespace fs = std::filesystem;
using namespace holdshelf;

namespace {

/// A server over an empty library for all inputs. Its own device has to pair, so that raw bytes
/// come from nobody in particular.
class RunningServer {
 public:
  RunningServer() {
    const fs::path folder = test::memoryFolder("socket");
    fs::create_directories(folder / "web");
    writeFileDurably(folder / "web" / "index.html", "<!doctype html><title>Shelf</title>");
    (void)Library::openOrCreate(folder / "library");
    ServeOptions options;
    options.library = folder / "library";
    options.web = folder / "web";
    options.port = 0;
    options.pair_here = true;
    server_ = std::make_unique<Server>(options);
    thread_ = std::thread([this] { server_->run([] { return true; }); });
  }
  ~RunningServer() {
    server_->stop();
    thread_.join();
  }

  int port() const { return server_->port(); }

 private:
  std::unique_ptr<Server> server_;
  std::thread thread_;
};

std::string seconds(std::chrono::steady_clock::time_point since) {
  return std::to_string(
      std::chrono::duration<double>(std::chrono::steady_clock::now() - since).count());
}

void take(const std::string& bytes) {
  static const RunningServer server;
  const auto began = std::chrono::steady_clock::now();
  const std::string reply = test::exchangeBytes(server.port(), bytes, 20, 10);
  const auto asked = std::chrono::steady_clock::now();
  if (!reply.empty() && !reply.starts_with("HTTP/1.") && !reply.starts_with("no connection") &&
      !reply.starts_with("no answer"))
    throw std::logic_error("an answer that is no HTTP");
  const test::HttpAnswer plain = test::askServer(server.port(), "GET", "/");
  if (plain.status != 200)
    throw std::logic_error("a plain question gets " + std::to_string(plain.status) + " " +
                           plain.body + " after " + seconds(asked) + " s, the bytes were sent " +
                           seconds(began) + " s ago");
}

std::vector<std::string> seeds() {
  return {"GET / HTTP/1.1\r\nHost: localhost\r\nAccept-Encoding: gzip\r\nConnection: close\r\n\r\n",
          "GET / HTTP/1.1\r\nHost: localhost\r\nRange: bytes=2-9\r\nConnection: close\r\n\r\n",
          "GET /api/v1/about HTTP/1.1\r\nHost: localhost\r\nCookie: a=b; holdshelf=00ff\r\n"
          "Connection: close\r\n\r\n",
          "POST /api/v1/pair HTTP/1.1\r\nHost: localhost\r\nOrigin: http://localhost\r\n"
          "Content-Type: application/json\r\nContent-Length: 31\r\nConnection: close\r\n\r\n"
          "{\"code\":\"1234-5678\",\"name\":\"Mo\"}",
          "PUT /api/v1/intakes/1/photos/aa?offset=0 HTTP/1.1\r\nHost: 127.0.0.1:80\r\n"
          "Content-Length: 3\r\nConnection: close\r\n\r\nabc",
          "POST / HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\nConnection: "
          "close\r\n\r\n3\r\nabc\r\n0\r\n\r\n"};
}

/// What HTTP allows and this server refuses or seldom meets (RFC 9110, RFC 9112).
std::vector<std::string> roughSeeds() {
  return {
      "GET /a%20b?q=%41+c&&x HTTP/1.1\r\nHost: localhost\r\n\r\nGET / HTTP/1.1\r\nHost: x\r\n\r\n",
      "HEAD / HTTP/1.0\r\n\r\n",
      "OPTIONS * HTTP/1.1\r\nHost: localhost\r\nExpect: 100-continue\r\n\r\n",
      "GET / HTTP/1.1\r\nHost: localhost\r\nRange: bytes=0-1,-5,7-\r\nIf-None-Match: "
      "\"a\", W/\"b\"\r\n\r\n",
      "POST /api/v1/pair HTTP/1.1\r\nHost: localhost\r\nContent-Type: multipart/form-data; "
      "boundary=b\r\nContent-Length: 60\r\n\r\n--b\r\nContent-Disposition: form-data; "
      "name=\"a\"\r\n\r\nx\r\n--b--\r\n",
      "POST /api/v1/find HTTP/1.1\r\nHost: localhost\r\nContent-Encoding: gzip\r\n"
      "Content-Length: 20\r\n\r\n" +
          std::string("\x1f\x8b\x08\0\0\0\0\0\0\x03\x03\0\0\0\0\0\0\0\0\0", 20),
      "GET /api/v1/events?token=00ff HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer 00ff\r\n"
      "Sec-Fetch-Site: cross-site\r\nX-Forwarded-For: 10.0.0.1\r\n\r\n",
      "POST / HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n\r\n"
      "a;x=y\r\n0123456789\r\n0\r\nTrailer: a\r\n\r\n"};
}

const test::FuzzTarget target("socket", take, seeds, roughSeeds);

}  // namespace
