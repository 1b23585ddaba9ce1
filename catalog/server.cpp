// SPDX-License-Identifier: Apache-2.0
// The one file that knows the HTTP library.
#include "catalog/server.h"

#include <httplib.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <thread>

#include "catalog/api.h"
#include "catalog/clock.h"
#include "catalog/service.h"
#include "catalog/web_files.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr std::size_t kMostBody = 9U << 20;
constexpr std::size_t kThreads = 96;  // Each open connection and each listener holds one.
constexpr std::size_t kWorthCompressing = 1400;

/// HTTP library's server with a queue of connections that a room full of phones does not overrun.
class HttpServer : public httplib::Server {
 public:
  void widenQueue() { ::listen(svr_sock_, 256); }
};

bool isAddress(const std::string& host) {
  const bool v6 = host.starts_with('[');
  return v6 || (!host.empty() && std::all_of(host.begin(), host.end(), [](unsigned char c) {
           return std::isdigit(c) || c == '.';
         }));
}

std::string withoutPort(const std::string& host) {
  const std::size_t colon = host.rfind(':');
  const bool v6_only = host.starts_with('[') && host.ends_with(']');
  return colon == std::string::npos || v6_only ? host : host.substr(0, colon);
}

std::string lower(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return text;
}

/// The name by which the request calls this machine is an address or one of its own names. A
/// foreign name that resolves to us means that some site's page is asking in the user's name.
bool knowsUs(const std::string& host_header) {
  const std::string host = lower(withoutPort(host_header));
  if (isAddress(host) || host == "localhost") return true;
  std::array<char, 256> name{};
  if (::gethostname(name.data(), name.size() - 1) != 0) return false;
  const std::string own = lower(name.data());
  return host == own || host == own + ".local";
}

/// A change is asked for by our own page or by a program, never by another site's page.
bool comesFromUs(const httplib::Request& request) {
  const std::string site = request.get_header_value("Sec-Fetch-Site");
  if (!site.empty() && site != "same-origin" && site != "none") return false;
  const std::string origin = request.get_header_value("Origin");
  return origin.empty() || origin == "http://" + request.get_header_value("Host");
}

bool isLoopback(const std::string& address) {
  return address.starts_with("127.") || address == "::1" || address.starts_with("::ffff:127.");
}

void setHeaders(httplib::Response& response) {
  response.set_header("Content-Security-Policy",
                      "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' "
                      "blob:; connect-src 'self'; manifest-src 'self'; base-uri 'none'; "
                      "form-action 'none'; frame-ancestors 'none'");
  response.set_header("X-Content-Type-Options", "nosniff");
  response.set_header("Referrer-Policy", "no-referrer");
  response.set_header("Cross-Origin-Opener-Policy", "same-origin");
  response.set_header("Cross-Origin-Resource-Policy", "same-origin");
  response.set_header("Permissions-Policy", "geolocation=(), microphone=(), payment=()");
}

/// Sends bytes as they are. The library would compress once more, slowly; with a provider of known
/// length it leaves them alone.
void sendBytes(httplib::Response& response, std::shared_ptr<const std::string> bytes,
               const std::string& type) {
  if (bytes->empty()) return response.set_content("", type);
  response.set_content_provider(
      bytes->size(), type,
      [bytes](std::size_t offset, std::size_t length, httplib::DataSink& sink) {
        return sink.write(bytes->data() + offset, length);
      });
}

bool takesGzip(const httplib::Request& request) {
  return request.get_header_value("Accept-Encoding").find("gzip") != std::string::npos;
}

bool notModified(const httplib::Request& request, httplib::Response& response,
                 const std::string& tag) {
  if (tag.empty()) {
    response.set_header("Cache-Control", "no-store");
    return false;
  }
  response.set_header("ETag", "\"" + tag + "\"");
  response.set_header("Cache-Control", "no-cache");
  if (request.get_header_value("If-None-Match") != "\"" + tag + "\"") return false;
  response.status = 304;
  return true;
}

void sendReply(const httplib::Request& request, httplib::Response& response, ApiReply reply) {
  setHeaders(response);
  response.status = reply.status;
  if (!reply.cookie.empty()) response.set_header("Set-Cookie", reply.cookie);
  if (notModified(request, response, reply.tag)) return;
  if (!reply.file_name.empty())
    response.set_header("Content-Disposition", "inline; filename=\"" + reply.file_name + "\"");
  const bool compress = reply.type != "image/png" && reply.body.size() > kWorthCompressing;
  if (compress && takesGzip(request)) {
    response.set_header("Content-Encoding", "gzip");
    reply.body = gzipped(reply.body);
  }
  sendBytes(response, std::make_shared<const std::string>(std::move(reply.body)), reply.type);
}

void sendFile(const httplib::Request& request, httplib::Response& response,
              const std::shared_ptr<const WebFile>& file) {
  setHeaders(response);
  response.status = 200;
  if (notModified(request, response, file->tag)) return;
  const bool gzip = !file->gzip.empty() && takesGzip(request);
  if (gzip) response.set_header("Content-Encoding", "gzip");
  sendBytes(response, {file, gzip ? &file->gzip : &file->bytes}, file->type);
}

}  // namespace

struct Server::Parts {
  explicit Parts(const ServeOptions& options) : service(options.library) {
    for (auto& [path, file] : readWebFiles(options.web))
      files[path] = std::make_shared<const WebFile>(std::move(file));
  }

  ApiRequest apiRequest(const httplib::Request& request) const;
  void answer(const httplib::Request& request, httplib::Response& response);
  void listen(const httplib::Request& request, httplib::Response& response);
  void watchLibrary();

  Service service;
  std::map<std::string, std::shared_ptr<const WebFile>> files;
  HttpServer http;
  int port = 0;
};

ApiRequest Server::Parts::apiRequest(const httplib::Request& request) const {
  ApiRequest api;
  api.method = request.method;
  api.path = request.path;
  for (const auto& [name, value] : request.params) api.query.emplace(name, value);
  api.body = request.body;
  if (isLoopback(request.remote_addr)) {
    api.role = Role::Head;
    api.device = whoAmI();
  }
  return api;
}

/// Live events until the browser goes away. A comment every few seconds finds out whether it did.
void Server::Parts::listen(const httplib::Request& request, httplib::Response& response) {
  setHeaders(response);
  response.set_header("Cache-Control", "no-store");
  std::int64_t after = service.events.last();
  const std::string seen = request.get_header_value("Last-Event-ID");
  if (!seen.empty() && seen.size() < 16 &&
      std::all_of(seen.begin(), seen.end(), [](unsigned char c) { return std::isdigit(c); }))
    after = std::stoll(seen);
  response.set_chunked_content_provider(
      "text/event-stream", [this, after](std::size_t, httplib::DataSink& sink) mutable {
        std::string text = service.events.next(after, std::chrono::seconds(3));
        if (service.events.closed()) return false;
        if (text.empty()) text = ": still here\n\n";
        return sink.write(text.data(), text.size());
      });
}

void Server::Parts::answer(const httplib::Request& request, httplib::Response& response) {
  if (!knowsUs(request.get_header_value("Host")))
    return sendReply(request, response,
                     problemReply(421, "This server answers to its own address only."));
  const bool reads = request.method == "GET" || request.method == "HEAD";
  if (!reads && !comesFromUs(request))
    return sendReply(request, response,
                     problemReply(403, "Changes can be made from the gym's own page only."));
  if (request.path.starts_with("/api/")) {
    ApiRequest api = apiRequest(request);
    if (request.path == "/api/v1/events" && request.method == "GET" && api.role >= Role::Look)
      return listen(request, response);
    return sendReply(request, response, answerApi(service, std::move(api)));
  }
  const auto file = files.find(request.path);
  if (file == files.end() || !reads)
    return sendReply(request, response, problemReply(404, "There is no such page here."));
  sendFile(request, response, file->second);
}

/// Other programs may change the library: tells the listeners within a second.
void Server::Parts::watchLibrary() {
  const Library library = service.library();
  std::int64_t known = library.lastEvent();
  while (!service.events.closed()) {
    std::this_thread::sleep_for(std::chrono::milliseconds(500));
    const std::int64_t now = library.lastEvent();
    if (now != known) service.announce();
    known = now;
  }
}

Server::Server(const ServeOptions& options) : parts_(std::make_unique<Parts>(options)) {
  HttpServer& http = parts_->http;
  parts_->service.open_to_network = !isLoopback(options.host) && options.host != "localhost";
  http.new_task_queue = [] { return new httplib::ThreadPool(kThreads); };
  http.set_payload_max_length(kMostBody);
  http.set_keep_alive_max_count(10'000);
  http.set_keep_alive_timeout(20);
  http.set_read_timeout(30);
  http.set_write_timeout(30);
  http.set_tcp_nodelay(true);
  const auto answer = [this](const httplib::Request& request, httplib::Response& response) {
    parts_->answer(request, response);
  };
  http.Get(".*", answer).Post(".*", answer).Put(".*", answer).Delete(".*", answer);
  http.set_error_handler([](const httplib::Request&, httplib::Response& response) {
    if (!response.body.empty() || response.content_provider_) return;
    setHeaders(response);
    response.set_content(
        problemReply(response.status, response.status == 413
                                          ? "This is larger than the server takes at once."
                                          : "The server cannot answer this.")
            .body,
        "application/json");
  });
  parts_->port = options.port == 0 ? http.bind_to_any_port(options.host) : options.port;
  const bool bound =
      options.port == 0 ? parts_->port > 0 : http.bind_to_port(options.host, options.port);
  if (!bound)
    throw BadInput("Port " + std::to_string(options.port) + " of " + options.host +
                   " cannot be used: another program may have it; choose one with --port.");
  http.widenQueue();
}

Server::~Server() { stop(); }

int Server::port() const { return parts_->port; }

void Server::run(const std::function<bool()>& go_on) {
  std::thread library_watch([this] { parts_->watchLibrary(); });
  std::thread stop_watch([this, &go_on] {
    while (!parts_->service.events.closed() && go_on())
      std::this_thread::sleep_for(std::chrono::milliseconds(100));
    stop();
  });
  parts_->http.listen_after_bind();
  parts_->service.events.close();
  library_watch.join();
  stop_watch.join();
}

void Server::stop() {
  parts_->service.events.close();
  parts_->http.stop();
}

}  // namespace holdshelf
