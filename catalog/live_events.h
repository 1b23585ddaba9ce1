// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <chrono>
#include <condition_variable>
#include <cstdint>
#include <deque>
#include <mutex>
#include <optional>
#include <string>

namespace holdshelf {

/// Events for whoever listens, in the wire form of server-sent events (WHATWG HTML, "Server-sent
/// events"): the last 500 are kept, so that a phone that was away for a moment gets what it missed.
/// Safe from several threads.
class LiveEvents {
 public:
  /// @param kind  "library", "intake", ... @param json  Without line breaks.
  void publish(const std::string& kind, const std::string& json);

  /// Number of the last event.
  std::int64_t last() const;

  /// All events after `after` in wire form, waiting up to `patience` for one; empty when none came.
  /// `after` moves on. One that is too old to be known, or from before a restart, begins with the
  /// oldest kept.
  std::string next(std::int64_t& after, std::chrono::milliseconds patience);

  /// Wakes all who wait; from then on next() returns at once.
  void close();
  bool closed() const;

 private:
  struct Entry {
    std::int64_t number;
    std::string text;
  };
  mutable std::mutex mutex_;
  std::condition_variable came_;
  std::deque<Entry> entries_;
  std::int64_t last_ = 0;
  bool closed_ = false;
};

}  // namespace holdshelf
