// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "catalog/role.h"
#include "proto/server.pb.h"

namespace holdshelf {

struct ServeOptions {
  std::filesystem::path library, web;
  std::string host = "127.0.0.1";  ///< Where to listen: only this machine unless told otherwise.
  int port = 8484;                 ///< 0: any free one.
  bool pair_here = false;   ///< Devices on this machine have to pair, too. Behind a proxy: true.
  bool seats_here = false;  ///< Connections over loopback are counted, too. Behind a proxy: false.
};

/// The library over HTTP: the page, the API of version 1 (catalog/api.h) and live events. Answers
/// several requests at once.
///
/// What is turned down before any route sees it, and before its body is read: names of the machine
/// that a browser was lured to (DNS rebinding), changes that another site's page asks for, bodies
/// above 9 MB (64 kB from devices that may not take holds in), bodies that are compressed, chunked
/// or in parts or without a length, unknown methods. The connection ends with that, so that nothing
/// of such a request is taken for the next one, and so it does where a head is longer than 64 kB,
/// where a request takes longer than half a minute at less than 8 kB a second or its answer waits
/// as long to be taken, after an answer while other connections wait for a thread, and at the 25th
/// connection of one address: phones behind a router that hides theirs share 24. Parts of files
/// (Range) are answered with the whole. Every reply forbids the browser to load, send or embed
/// anything beyond this server.
///
/// Who sits at this machine is its head; every other device has the role that it was paired for
/// (catalog/devices.h). What a proxy or tunnel on this machine passes on comes from this machine,
/// too: only where it says so (Forwarded, X-Forwarded-For, Via) can it be told and has to pair.
/// Many do not say so: behind one, `pair_here` has to be set. Nothing is encrypted: who can listen
/// in on the network can take over a device, so it should be the gym's own and not its guests'.
class Server {
 public:
  /// Reads the page and takes the port.
  /// @throws BadInput  There is no library or no page, or the port is taken.
  explicit Server(const ServeOptions& options);
  ~Server();
  Server(const Server&) = delete;
  Server& operator=(const Server&) = delete;

  int port() const;
  /// Where the page is, for a browser on another device; empty on loopback.
  const std::vector<std::string>& addresses() const;
  /// A code that pairs one device in this role. @throws BadInput  The role is None.
  PairingCode makeCode(Role role);
  /// Serves until stop() is called, or `go_on`, asked several times a second, returns false.
  /// @throws BadInput  The system gives it no more connections; those it had were ended as by
  ///                   stop().
  void run(const std::function<bool()>& go_on);
  void stop();

 private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

}  // namespace holdshelf
