// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <chrono>
#include <filesystem>
#include <string>

#include "catalog/desk_worker.h"
#include "catalog/open_intakes.h"

namespace holdshelf {

/// Looks at the photos of intakes, one after another, each in a child (catalog/desk_child.h), and
/// writes on the form what was seen. A photo that was thrown away meanwhile, or is to be looked at
/// with another mat, gets nothing of it.
class DeskLooks {
 public:
  /// @param pause  Until a look that could not be begun is tried again.
  DeskLooks(OpenIntakes& intakes, std::filesystem::path program,
            std::chrono::milliseconds pause = std::chrono::seconds(5));

  /// One photo. With the intakes' lock or without.
  void add(const std::string& intake, const std::string& sha256);
  /// All photos of an intake that wait for it.
  void addWaiting(const Intake& intake);

 private:
  IntakePhoto* findWaiting(const DeskWorker::Task& task);
  void look(const DeskWorker::Task& task, ChildProcess& child);

  OpenIntakes& intakes_;
  std::filesystem::path program_;
  DeskWorker worker_;  // Last: its thread uses what is above.
};

}  // namespace holdshelf
