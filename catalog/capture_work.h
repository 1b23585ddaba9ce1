// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <chrono>
#include <filesystem>
#include <functional>
#include <string>
#include <vector>

#include "catalog/capture_queue.h"

namespace holdshelf {

struct WorkOptions {
  std::filesystem::path
      program;  ///< That rebuilds: this one, as `program desk rebuild FOLDER ...`.
  std::filesystem::path scratch;  ///< For the photos of the capture that is being worked on.
  std::string worker;             ///< Name of this worker in the queue; empty: host and process.
  QueueRules rules;
  bool until_empty = false;  ///< Ends when nothing is waiting or being worked on.
  std::function<void(const std::string& sentence)> say;
  std::function<bool()> stop;  ///< Asked several times a second.
};

/// Takes captures from the queue of a shared library and rebuilds them, one at a time, until it is
/// stopped. Each is rebuilt by a child process, while its lease is prolonged from here; what comes
/// out is stored in one transaction with the end of the claim, so that it is stored once, whoever
/// else has begun it. A database that goes away is waited for.
/// @throws BadInput  At the start: the library is in a folder, or not to be reached.
void workOnQueue(const std::filesystem::path& library, const WorkOptions& options);

}  // namespace holdshelf
