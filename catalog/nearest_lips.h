// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <atomic>
#include <cstdint>
#include <mutex>
#include <unordered_map>
#include <vector>

#include "catalog/lip_curve.h"

namespace holdshelf {

/// What a lip search found of one hold: its lip nearest to the wanted one.
struct LipFound {
  std::uint32_t hold = 0;
  LipRun run;
  std::size_t placement = 0;  ///< Of the probe, the best one.
  double gap_mm = 0;
};

/// The best lip of each hold, of the best holds, while a search goes on; safe to offer to from
/// several threads.
class NearestLips {
 public:
  /// @param most       Holds that are kept; 0: all.
  /// @param within_mm  Larger gaps don't count.
  NearestLips(std::size_t most, double within_mm)
      : count_(most), limit_(static_cast<float>(within_mm)) {}

  /// Gaps beyond it don't matter any more: it falls while holds are found. A gap that is not beyond
  /// it is to be offered.
  float limit_mm() const { return limit_; }
  void offer(const LipFound& found);
  /// What was kept, smallest gap first, of equals the smaller number of the hold. To be called
  /// once, when nobody offers any more.
  std::vector<LipFound> sorted();

 private:
  const std::size_t count_;
  std::atomic<float> limit_;
  std::mutex mutex_;
  std::vector<LipFound> best_;  // Sorted, where few are wanted.
  std::unordered_map<std::uint32_t, LipFound> by_hold_;
};

}  // namespace holdshelf
