// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>
#include <map>
#include <mutex>
#include <string>

namespace holdshelf {

/// How many connections each address has open, so that one device cannot take them all. This
/// machine's own addresses are not counted: a proxy on it speaks for many. Safe from several
/// threads.
class CallerSeats {
 public:
  /// @param most  Connections at a time of one address.
  explicit CallerSeats(std::size_t most) : most_(most) {}

  /// Counts one more; false: it has as many as it may, and none is counted.
  bool take(const std::string& address);
  /// One that was taken is closed.
  void leave(const std::string& address);

 private:
  const std::size_t most_;
  std::mutex mutex_;
  std::map<std::string, std::size_t> open_;
};

}  // namespace holdshelf
