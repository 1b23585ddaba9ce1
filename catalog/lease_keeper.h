// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <atomic>
#include <condition_variable>
#include <filesystem>
#include <functional>
#include <mutex>
#include <thread>

#include "catalog/capture_queue.h"

namespace holdshelf {

/// Prolongs the lease of a claimed capture while it exists, from a thread and a connection of its
/// own, and ends the work on it when the claim is lost or somebody wants to stop. A database that
/// is not to be reached meanwhile is asked again: the commit has the last word.
class LeaseKeeper {
 public:
  /// @param rules  The lease is prolonged each third of it.
  /// @param stop   Asked several times a second; empty: nobody wants to.
  /// @param end    Ends the work; called from the thread, again and again while that lasts.
  LeaseKeeper(std::filesystem::path library, QueuedCapture capture, QueueRules rules,
              std::function<bool()> stop, std::function<void()> end);
  ~LeaseKeeper();
  LeaseKeeper(const LeaseKeeper&) = delete;
  LeaseKeeper& operator=(const LeaseKeeper&) = delete;

  bool lost() const { return lost_; }        ///< Somebody else has the capture.
  bool stopped() const { return stopped_; }  ///< `stop` said so.

 private:
  bool renewed() const;
  void keep();

  const std::filesystem::path library_;
  const QueuedCapture capture_;
  const QueueRules rules_;
  const std::function<bool()> stop_;
  const std::function<void()> end_;
  std::mutex mutex_;
  std::condition_variable changed_;
  bool done_ = false;
  std::atomic<bool> lost_ = false, stopped_ = false;
  std::thread thread_;  // Last: it uses what is above.
};

}  // namespace holdshelf
