// SPDX-License-Identifier: Apache-2.0
// Only this file, bounded_stream, request_guard.cpp and http_reply.cpp know the HTTP library.
#include "catalog/server.h"

#include <httplib.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cctype>
#include <cerrno>
#include <mutex>
#include <optional>
#include <system_error>
#include <thread>

#include "catalog/api.h"
#include "catalog/bounded_stream.h"
#include "catalog/caller_seats.h"
#include "catalog/clock.h"
#include "catalog/http_reply.h"
#include "catalog/own_address.h"
#include "catalog/request_guard.h"
#include "catalog/service.h"
#include "catalog/web_files.h"
#include "catalog/work_threads.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr int kMostListeners = 64;
constexpr std::size_t kThreads = 96;       // Each open connection and each listener holds one.
constexpr std::size_t kMostWaiting = 200;  // Beyond them; each takes an open file.
constexpr std::size_t kMostAtWork = 16;    // Of what is asked; WorkThreads says why so few.
constexpr std::size_t kMostOfOne = 24;     // Connections of one device: a browser opens six a page.
constexpr std::size_t kMostRefused = 4;    // Beyond them, those that are told so.

/// Of the thread that accepts connections: the one it has at hand is one too many.
thread_local bool turns_away = false;

/// A pool of threads that counts the connections they have: those they answer, and those that wait
/// for one. More than may wait are not left to them.
class CountingThreads : public httplib::ThreadPool {
 public:
  /// @param ending  Called when no more come, before those that are there are waited for.
  CountingThreads(std::atomic<std::size_t>& open, std::function<void()> ending)
      : httplib::ThreadPool(kThreads), open_(open), ending_(std::move(ending)) {}

  void enqueue(std::function<void()> work) override {
    if (open_ >= kThreads + kMostWaiting) {
      turns_away = true;
      work();
      turns_away = false;
      return;
    }
    ++open_;
    ThreadPool::enqueue([this, work = std::move(work)] {
      work();
      --open_;
    });
  }

  void shutdown() override {
    ending_();
    ThreadPool::shutdown();
  }

 private:
  std::atomic<std::size_t>& open_;
  std::function<void()> ending_;
};

/// HTTP library's server with a queue of connections that a room full of phones does not overrun,
/// and limits on what one of them can take.
class HttpServer : public httplib::Server {
 public:
  /// @param ending  Called when it takes no more connections, told so or not.
  HttpServer(bool seats_here, std::function<void()> ending)
      : seats_(kMostOfOne, seats_here), refused_(kMostRefused, seats_here) {
    new_task_queue = [this, ending = std::move(ending)] {
      return new CountingThreads(open_, [this, ending] {
        noteEnd(errno);
        ending();
      });
    };
  }

  void widenQueue() { ::listen(svr_sock_, 256); }

  /// May be called at any time and again: a server that is only just starting overhears it.
  void end() {
    const std::lock_guard lock(ending_);
    if (svr_sock_ != INVALID_SOCKET) stop();
  }

  /// Once it has ended: the errno for which it did, without having been told to.
  std::optional<int> failure() const { return failure_; }

 private:
  void noteEnd(int why);
  bool process_and_close_socket(socket_t socket) override;
  bool answerRequests(BoundedStream& stream);
  bool isCrowded() const { return open_ > kThreads; }

  std::mutex ending_;
  std::optional<int> failure_;
  std::atomic<std::size_t> open_ = 0;
  CallerSeats seats_, refused_;
};

/// Where the system gives it no connection (but for a lack of files of its own, after which it
/// tries again), the library closes its socket and leaves the number standing: to be closed once
/// more by whoever stops the server, when it may be a file of the library, and to all connections
/// as if nothing had ended.
/// @param why  The errno then.
void HttpServer::noteEnd(int why) {
  const std::lock_guard lock(ending_);
  if (svr_sock_.exchange(INVALID_SOCKET) != INVALID_SOCKET) failure_ = why;
}

/// To a device that has no seat left, before anybody knows what it asks.
void refuse(BoundedStream& stream) {
  const std::string full = problemReply(503, "This device has too many connections open.").body;
  stream.write(
      "HTTP/1.1 503 Service Unavailable\r\nConnection: close\r\nContent-Type: "
      "application/json\r\nContent-Length: " +
      std::to_string(full.size()) + "\r\n\r\n" + full);
  stream.hangUp();
}

/// The requests of one connection, one after another; once others wait for a thread, none after
/// the one that is there. @return Whether the last was answered.
bool HttpServer::answerRequests(BoundedStream& stream) {
  // A part of a file that is asked for by Range, the library hands on unchecked. Nothing here is
  // worth asking for in parts, and RFC 9110, 14.2, lets a server answer with all of it.
  const auto ask_for_all = [](httplib::Request& request) { request.ranges.clear(); };
  const auto crowded = [this] { return isCrowded(); };
  bool answered = false, closed = false;
  for (std::size_t left = keep_alive_max_count_; left > 0 && !closed; --left) {
    // Where nothing is on its way, nothing can be lost.
    if (!stream.awaitRequest(std::chrono::seconds(keep_alive_timeout_sec_), crowded))
      return answered;
    const bool last = left == 1 || isCrowded();
    answered = process_request(stream, last, closed, ask_for_all);
    if (!answered || last) break;
  }
  stream.hangUp();
  return answered;
}

bool HttpServer::process_and_close_socket(socket_t socket) {
  if (turns_away) return ::close(socket), false;
  const std::string address = addressOfPeer(socket);
  BoundedStream stream(socket, [this] { return svr_sock_ == INVALID_SOCKET; });
  bool answered = false;
  if (seats_.take(address)) {
    answered = answerRequests(stream);
    seats_.leave(address);
  } else if (refused_.take(address)) {
    refuse(stream);
    refused_.leave(address);
  }
  ::close(socket);
  return answered;
}

}  // namespace

struct Server::Parts {
  explicit Parts(const ServeOptions& options)
      : service(options.library), http(options.seats_here, [this] { service.events.close(); }) {
    for (auto& [path, file] : readWebFiles(options.web))
      files[path] = std::make_shared<const WebFile>(std::move(file));
  }

  void identify(const httplib::Request& request, ApiRequest& api);
  ApiRequest apiRequest(const httplib::Request& request);
  Role roleOf(const httplib::Request& request);
  void answer(const httplib::Request& request, httplib::Response& response);
  void listen(const httplib::Request& request, httplib::Response& response);
  void watchLibrary();
  void takeAddresses(const std::string& host);

  Service service;
  std::map<std::string, std::shared_ptr<const WebFile>> files;
  WorkThreads answerers{kMostAtWork};
  HttpServer http;
  int port = 0;
  bool pair_here = false;
  std::atomic<int> listeners = 0;
};

/// Who asks: at this machine its user, else the paired device that shows its token.
void Server::Parts::identify(const httplib::Request& request, ApiRequest& api) {
  api.address = request.remote_addr;
  if (sitsHere(request) && !pair_here) {
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
  api.path = request.target.substr(0, request.target.find('?'));
  for (const auto& [name, value] : request.params) api.query.emplace(name, value);
  api.body = request.body;
  identify(request, api);
  return api;
}

Role Server::Parts::roleOf(const httplib::Request& request) {
  ApiRequest api;
  identify(request, api);
  return api.role;
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
      [this, after, token = tokenOf(request), free = sitsHere(request) && !pair_here](
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
    return sendReply(request, response,
                     answerers.run([&] { return answerApi(service, std::move(api)); }));
  }
  const auto file = files.find(request.path);
  if (file == files.end() || !reads)
    return sendReply(request, response, problemReply(404, "There is no such page here."));
  sendFile(request, response, file->second);
}

/// Other programs may change the library, or put another database in the place of a damaged one:
/// tells the listeners within a second.
void Server::Parts::watchLibrary() {
  std::optional<Library> library;
  std::optional<LibraryState> known;
  while (!service.events.closed()) {
    try {
      if (library && isReplaced(*library)) library.reset();
      if (!library) library.emplace(service.library());
      const LibraryState now = stateOf(*library);
      if (known && now != *known) service.announce();
      known = now;
    } catch (const std::exception&) {
      // Busy or out of order: whoever asks is told, and the next look may do better.
      if (!known) known.emplace();
      library.reset();  // A connection that was lost stays so.
    }
    std::this_thread::sleep_for(std::chrono::milliseconds(500));
  }
}

Server::Server(const ServeOptions& options) : parts_(std::make_unique<Parts>(options)) {
  HttpServer& http = parts_->http;
  parts_->service.open_to_network = !isLoopback(options.host) && options.host != "localhost";
  parts_->pair_here = options.pair_here;
  http.set_payload_max_length(kMostBody);
  http.set_keep_alive_max_count(10'000);
  http.set_keep_alive_timeout(3);  // Each open connection holds a thread.
  http.set_read_timeout(30);
  http.set_write_timeout(30);
  http.set_tcp_nodelay(true);
  // Not the library's SO_REUSEPORT, by which a second server could take every other connection.
  // This alone lets a server start at once where another has just ended.
  http.set_socket_options([](socket_t socket) {
    const int yes = 1;
    ::setsockopt(socket, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
  });
  http.set_pre_routing_handler(
      [this](const httplib::Request& request, httplib::Response& response) {
        const auto no = turnedDown(request, [&] { return parts_->roleOf(request); });
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
    // Not 400: the same, sent again, may be taken, and the page does send it again.
    if (response.status == 400 && wasCutOff(request))
      return turnDown(request, response,
                      problemReply(408, "It did not come to its end: send it again."));
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

void Server::Parts::takeAddresses(const std::string& host) {
  if (service.open_to_network || pair_here) service.addresses = pageAddresses(host, port);
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
  std::thread listening([this, &done] {
    parts_->http.listen_after_bind();
    done = true;
  });
  // The caller's own thread, which signals go to, is the one that sleeps.
  while (!done && !parts_->service.events.closed() && go_on())
    std::this_thread::sleep_for(std::chrono::milliseconds(100));
  for (; !done; std::this_thread::sleep_for(std::chrono::milliseconds(20))) stop();
  parts_->service.events.close();
  listening.join();
  library_watch.join();
  if (const auto why = parts_->http.failure())
    throw BadInput("The server has ended, as this machine gives it no more connections (" +
                   std::generic_category().message(*why) +
                   "): close what else runs here, then start it again.");
}

void Server::stop() {
  parts_->service.events.close();
  parts_->http.end();
}

}  // namespace holdshelf
