// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <chrono>
#include <mutex>
#include <string>
#include <utility>
#include <vector>

#include "mesh/bad_input.h"
#include "mesh/progress.h"
#include "proto/capture_report.pb.h"

namespace holdshelf {

/// One stage of long work whose steps end on many threads: reports them one at a time, throws
/// Interrupted where the caller wants to stop (tbb::parallel_for hands it on), and takes the time.
class Stage {
 public:
  Stage(const Progress& progress, std::string name, size_t steps)
      : progress_(progress), name_(std::move(name)), steps_(static_cast<double>(steps)) {
    report();
  }

  /// One step done. Safe from any thread.
  void step() {
    const std::lock_guard<std::mutex> lock(mutex_);
    ++done_;
    report();
  }

  /// Appends how long the stage took so far.
  void end(std::vector<StageTime>& times) const {
    StageTime& time = times.emplace_back();
    time.set_stage(name_);
    time.set_seconds(
        std::chrono::duration<double>(std::chrono::steady_clock::now() - start_).count());
  }

 private:
  void report() const {
    if (progress_ && !progress_(name_, steps_ > 0 ? done_ / steps_ : 1)) throw Interrupted();
  }

  const Progress& progress_;
  std::string name_;
  double steps_, done_ = 0;
  std::mutex mutex_;
  std::chrono::steady_clock::time_point start_ = std::chrono::steady_clock::now();
};

}  // namespace holdshelf
