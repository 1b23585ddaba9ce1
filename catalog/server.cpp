// SPDX-License-Identifier: Apache-2.0
// The one file that knows the HTTP library.
#include "catalog/server.h"

#include <arpa/inet.h>
#include <httplib.h>
#include <ifaddrs.h>
#include <net/if.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cctype>
#include <charconv>
#include <mutex>
#include <optional>
#include <thread>

#include "catalog/api.h"
#include "catalog/clock.h"
#include "catalog/service.h"
#include "catalog/sqlite.h"
#include "catalog/web_files.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr std::size_t kMostBody = 9U << 20;       // A piece of a photo.
constexpr std::size_t kMostQuestion = 64U << 10;  // All else.
constexpr int kMostListeners = 64;
constexpr std::size_t kThreads = 96;  // Each open connection and each listener holds one.
constexpr std::size_t kWorthCompressing = 1400;

/// HTTP library's server with a queue of connections that a room full of phones does not overrun.
class HttpServer : public httplib::Server {
 public:
  void widenQueue() { ::listen(svr_sock_, 256); }

  /// May be called at any time and again: a server that is only just starting overhears it.
  void end() {
    const std::lock_guard lock(ending_);
    if (svr_sock_ != INVALID_SOCKET) stop();
  }

 private:
  std::mutex ending_;
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

/// Who asks sits at this machine: not where a proxy on it says that it passes on what others ask
/// (RFC 7239; RFC 9110, 7.6.3; X-Forwarded-For is common practice). One that does not say so cannot
/// be told from who sits here.
bool isLocal(const httplib::Request& request) {
  return isLoopback(request.remote_addr) && !request.has_header("Forwarded") &&
         !request.has_header("X-Forwarded-For") && !request.has_header("Via");
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

/// The token that the device was given, or nothing.
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

/// Turns a request down and ends the connection: the rest of it is unread, and what another site's
/// page sent as a body would be taken for the next request. Saying "Connection: close" makes the
/// library end nothing, a body that cannot be sent does: so all of it is sent, then that is said.
void turnDown(const httplib::Request& request, httplib::Response& response, const ApiReply& reply) {
  setHeaders(response);
  response.status = reply.status;
  response.set_header("Connection", "close");
  response.set_header("Cache-Control", "no-store");
  response.set_header("Content-Length", std::to_string(reply.body.size()));
  response.set_content_provider(reply.type,
                                [body = reply.body](std::size_t, httplib::DataSink& sink) {
                                  sink.write(body.data(), body.size());
                                  return false;
                                });
  // A body is sent for no HEAD, and not whole for a range. The library's request is no constant.
  auto& its = const_cast<httplib::Request&>(request);
  its.ranges.clear();
  if (its.method == "HEAD") its.method = "GET";
}

/// Sends bytes as they are. The library would compress once more, slowly; with a provider of known
/// length it leaves them alone.
void sendBytes(httplib::Response& response, const std::shared_ptr<const std::string>& bytes,
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
  const bool compress = reply.type != "image/png" && reply.type != "image/jpeg" &&
                        reply.body.size() > kWorthCompressing;
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

  void identify(const httplib::Request& request, ApiRequest& api);
  ApiRequest apiRequest(const httplib::Request& request);
  std::optional<ApiReply> turnedDown(const httplib::Request& request);
  void answer(const httplib::Request& request, httplib::Response& response);
  void listen(const httplib::Request& request, httplib::Response& response);
  void watchLibrary();
  void takeAddresses(const std::string& host);

  Service service;
  std::map<std::string, std::shared_ptr<const WebFile>> files;
  HttpServer http;
  int port = 0;
  bool pair_here = false;
  std::atomic<int> listeners = 0;
};

/// Who asks: at this machine its user, else the paired device that shows its token.
void Server::Parts::identify(const httplib::Request& request, ApiRequest& api) {
  api.address = request.remote_addr;
  if (isLocal(request) && !pair_here) {
    api.role = Role::Head;
    api.device = whoAmI();
    return;
  }
  const auto device = service.devices.find(tokenOf(request));
  if (!device) return;
  api.role = roleFromWord(device->role());
  api.device = device->name();
  api.device_id = device->id();
}

ApiRequest Server::Parts::apiRequest(const httplib::Request& request) {
  ApiRequest api;
  api.method = request.method;
  api.path = request.path;
  for (const auto& [name, value] : request.params) api.query.emplace(name, value);
  api.body = request.body;
  identify(request, api);
  return api;
}

/// What is wrong with a request by its head alone.
std::optional<ApiReply> Server::Parts::turnedDown(const httplib::Request& request) {
  if (request.get_header_value_count("Host") != 1 || !knowsUs(request.get_header_value("Host")))
    return problemReply(421, "This server answers to its own address only.");
  const bool reads = request.method == "GET" || request.method == "HEAD";
  if (!reads && !comesFromUs(request))
    return problemReply(403, "Changes can be made from the gym's own page only.");
  bool readable = isUtf8(request.path);
  for (const auto& [name, value] : request.params)
    readable = readable && isUtf8(name) && isUtf8(value);
  if (!readable) return problemReply(400, "The address is not written in UTF-8.");
  if (request.has_header("Transfer-Encoding"))
    return problemReply(411, "Say in Content-Length how long the body is.");
  // A few bytes of it could unfold to more than the machine holds.
  if (request.has_header("Content-Encoding") ||
      request.get_header_value("Content-Type").starts_with("multipart/"))
    return problemReply(415, "Send the body as it is, neither compressed nor in parts.");
  if (request.get_header_value("Range").find(',') != std::string::npos)
    return problemReply(416, "Ask for one range at a time.");
  const auto length = bodyLength(request);
  if (!length) return problemReply(400, "Content-Length is no number.");
  const bool takes = request.method == "POST" || request.method == "PUT" ||
                     request.method == "PATCH" || request.method == "DELETE";
  if (*length > 0 && !takes) return problemReply(400, "A question of this kind has no body.");
  if (*length <= kMostQuestion) return std::nullopt;
  ApiRequest api;
  identify(request, api);
  if (*length > (api.role >= Role::Log ? kMostBody : kMostQuestion))
    return problemReply(413, "This is larger than the server takes at once.");
  return std::nullopt;
}

/// Live events until the browser goes away. A comment every few seconds finds out whether it did.
void Server::Parts::listen(const httplib::Request& request, httplib::Response& response) {
  if (listeners >= kMostListeners)
    return sendReply(request, response,
                     problemReply(503, "Too many pages are open: close one and try again."));
  ++listeners;
  setHeaders(response);
  response.set_header("Cache-Control", "no-store");
  std::int64_t after = service.events.last();
  const std::string seen = request.get_header_value("Last-Event-ID");
  if (!seen.empty() && seen.size() < 16 &&
      std::all_of(seen.begin(), seen.end(), [](unsigned char c) { return std::isdigit(c); }))
    after = std::stoll(seen);
  response.set_chunked_content_provider(
      "text/event-stream",
      [this, after, token = tokenOf(request), free = isLocal(request) && !pair_here](
          std::size_t, httplib::DataSink& sink) mutable {
        try {
          std::string text = service.events.next(after, std::chrono::seconds(3));
          if (service.events.closed()) return false;
          if (!free && !service.devices.find(token)) return false;  // Withdrawn meanwhile.
          if (text.empty()) text = ": still here\n\n";
          return sink.write(text.data(), text.size());
        } catch (const std::exception&) {
          return false;  // Nobody above catches it. The page asks anew.
        }
      },
      [this](bool) { --listeners; });
}

void Server::Parts::answer(const httplib::Request& request, httplib::Response& response) {
  const bool reads = request.method == "GET" || request.method == "HEAD";
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
  std::optional<Library> library;
  std::optional<std::int64_t> known;
  while (!service.events.closed()) {
    try {
      if (!library) library.emplace(service.library());
      const std::int64_t now = library->lastEvent();
      if (known && now != *known) service.announce();
      known = now;
    } catch (const std::exception&) {
      // Busy or out of order: whoever asks is told, and the next look may do better.
      if (!known) known = 0;
      library.reset();  // A connection that was lost stays so.
    }
    std::this_thread::sleep_for(std::chrono::milliseconds(500));
  }
}

Server::Server(const ServeOptions& options) : parts_(std::make_unique<Parts>(options)) {
  HttpServer& http = parts_->http;
  parts_->service.open_to_network = !isLoopback(options.host) && options.host != "localhost";
  parts_->pair_here = options.pair_here;
  http.new_task_queue = [] { return new httplib::ThreadPool(kThreads); };
  http.set_payload_max_length(kMostBody);
  http.set_keep_alive_max_count(10'000);
  http.set_keep_alive_timeout(3);  // Each open connection holds a thread.
  http.set_read_timeout(30);
  http.set_write_timeout(30);
  http.set_tcp_nodelay(true);
  http.set_pre_routing_handler(
      [this](const httplib::Request& request, httplib::Response& response) {
        const auto no = parts_->turnedDown(request);
        if (!no) return httplib::Server::HandlerResponse::Unhandled;
        turnDown(request, response, *no);
        return httplib::Server::HandlerResponse::Handled;
      });
  const auto answer = [this](const httplib::Request& request, httplib::Response& response) {
    parts_->answer(request, response);
  };
  http.Get(".*", answer).Post(".*", answer).Put(".*", answer).Delete(".*", answer);
  // What the library itself cannot answer: it has stopped reading anywhere in the request.
  http.set_error_handler([](const httplib::Request& request, httplib::Response& response) {
    if (!response.body.empty() || response.content_provider_) return;
    turnDown(request, response,
             problemReply(response.status, response.status == 413
                                               ? "This is larger than the server takes at once."
                                               : "The server cannot answer this."));
  });
  parts_->port = options.port == 0 ? http.bind_to_any_port(options.host) : options.port;
  const bool bound =
      options.port == 0 ? parts_->port > 0 : http.bind_to_port(options.host, options.port);
  if (!bound)
    throw BadInput("Port " + std::to_string(options.port) + " of " + options.host +
                   " cannot be used: another program may have it; choose one with --port.");
  http.widenQueue();
  parts_->takeAddresses(options.host);
}

std::string ownPageAddress(int port) {
  std::array<char, 256> name{};
  if (::gethostname(name.data(), name.size() - 1) != 0) return "";
  const std::string host = lower(name.data());
  return "http://" + host + (host.find('.') == std::string::npos ? ".local" : "") + ":" +
         std::to_string(port) + "/";
}

void Server::Parts::takeAddresses(const std::string& host) {
  const bool all = host == "0.0.0.0" || host == "::";
  const std::vector<std::string> hosts = all ? ownAddresses() : std::vector<std::string>{host};
  for (const std::string& one : hosts)
    if (service.open_to_network || pair_here)
      service.addresses.push_back("http://" +
                                  (one.find(':') == std::string::npos ? one : "[" + one + "]") +
                                  ":" + std::to_string(port) + "/");
  service.label_addresses = {ownPageAddress(port)};
  service.label_addresses.insert(service.label_addresses.end(), service.addresses.begin(),
                                 service.addresses.end());
}

Server::~Server() { stop(); }

const std::vector<std::string>& Server::addresses() const { return parts_->service.addresses; }

PairingCode Server::makeCode(Role role) { return parts_->service.devices.makeCode(role); }

int Server::port() const { return parts_->port; }

void Server::run(const std::function<bool()>& go_on) {
  std::thread library_watch([this] { parts_->watchLibrary(); });
  std::atomic<bool> done = false;
  std::thread stop_watch([this, &go_on, &done] {
    while (!parts_->service.events.closed() && go_on())
      std::this_thread::sleep_for(std::chrono::milliseconds(100));
    for (; !done; std::this_thread::sleep_for(std::chrono::milliseconds(20))) stop();
  });
  parts_->http.listen_after_bind();
  done = true;
  parts_->service.events.close();
  library_watch.join();
  stop_watch.join();
}

void Server::stop() {
  parts_->service.events.close();
  parts_->http.end();
}

}  // namespace holdshelf
