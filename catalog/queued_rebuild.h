// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "catalog/intake.h"
#include "catalog/library.h"

namespace holdshelf {

// Who has photos and lets another machine rebuild them (capture_queue.h); the other side is
// capture_work.h.

/// "photo-01.jpg": what the index-th photo (from 0) of a capture is called on every machine. Names
/// in the queue are somebody else's words.
std::string queuedPhotoLabel(int index);

/// Puts photos into the library's files and queues them. @throws BadInput  A photo cannot be read.
std::int64_t queueCapture(Library& library, const std::vector<std::filesystem::path>& photos,
                          Intake intake, bool store);

/// For an intake desk whose library is shared: queues the intake in the folder (its photos lie
/// beside, by their labels), waits until a worker somewhere has rebuilt it, and leaves what came
/// out in the folder as a rebuild here would have (finished_files.h). The number in the queue is
/// kept in the folder, so that a desk that was killed goes on waiting. A database that goes away,
/// or lets nobody in, is waited for as workers wait for it, until somebody stops the rebuild.
/// @throws BadInput  It was set aside, or the database lets us in and then refuses again and again;
///                   the sentence says why. @throws Interrupted
void awaitRebuild(const std::filesystem::path& library, const std::filesystem::path& folder,
                  const Intake& intake, const Progress& progress);

}  // namespace holdshelf
