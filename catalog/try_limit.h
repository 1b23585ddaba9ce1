// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <deque>
#include <mutex>
#include <string>

namespace holdshelf {

/// Counts what went wrong lately, by who did it and in all, so that codes cannot be guessed by
/// trying. With 5 tries a device and 20 in all in ten minutes, a code of eight digits that lives
/// for ten minutes is hit with a chance of 20 / 10^8 a code. Safe from several threads.
class TryLimit {
 public:
  TryLimit(std::size_t most_each, std::size_t most_in_all, std::int64_t window_s)
      : most_each_(most_each), most_in_all_(most_in_all), window_s_(window_s) {}

  /// Counts a try that starts at the time `now_s` (seconds) and says whether it may go on. A try
  /// that may not is not counted: who waits for the window to pass gets in.
  bool begin(const std::string& who, std::int64_t now_s);
  /// The try was no wrong one after all.
  void forgive(const std::string& who);

 private:
  struct Try {
    std::int64_t at_s;
    std::string who;
  };
  std::size_t most_each_, most_in_all_;
  std::int64_t window_s_;
  std::mutex mutex_;
  std::deque<Try> tries_;
};

}  // namespace holdshelf
