// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>
#include <map>
#include <mutex>
#include <string>

namespace holdshelf {

/// How many connections each address has open, so that one device cannot take them all. Devices
/// behind one router that hides their addresses (NAT) count as one. Safe from several threads.
class CallerSeats {
 public:
  /// @param most  Connections at a time of one address.
  /// @param count_loopback  Whether that goes for loopback addresses, too: a proxy on this machine
  ///                        speaks for many.
  explicit CallerSeats(std::size_t most, bool count_loopback = false)
      : most_(most), count_loopback_(count_loopback) {}

  /// Counts one more; false: it has as many as it may, and none is counted.
  bool take(const std::string& address);
  /// One that was taken is closed.
  void leave(const std::string& address);

 private:
  const std::size_t most_;
  const bool count_loopback_;
  std::mutex mutex_;
  std::map<std::string, std::size_t> open_;
};

}  // namespace holdshelf
