// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <chrono>
#include <filesystem>
#include <functional>
#include <string>
#include <vector>

#include "catalog/capture_queue.h"
#include "catalog/intake.h"

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

/// Puts photos into the library's files and queues them. @throws BadInput  A photo cannot be read.
std::int64_t queueCapture(Library& library, const std::vector<std::filesystem::path>& photos,
                          Intake intake, bool store);

/// For an intake desk whose library is shared: queues the intake in the folder (its photos lie
/// beside, by their labels), waits until a worker somewhere has rebuilt it, and leaves what came
/// out in the folder as a rebuild here would have (finished_files.h). The number in the queue is
/// kept in the folder, so that a desk that was killed goes on waiting.
/// @throws BadInput  It was set aside; the sentence says why. @throws Interrupted
void awaitRebuild(const std::filesystem::path& library, const std::filesystem::path& folder,
                  const Intake& intake, const Progress& progress);

}  // namespace holdshelf
