// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>

#include "catalog/library.h"
#include "mesh/progress.h"
#include "proto/check.pb.h"

namespace holdshelf {

/// A file with this name beside the database says that a backup was cut off here: batches of the
/// new state are there already, while the database is the old one, whole. It holds the name of that
/// database's last batch, or kNoBatch, and counts only while that is still its last one: once
/// somebody has worked on it, or put another in its place, batches that it does not list are
/// damage. An empty one, as older programs left it, does not count: rather a fault too many is
/// reported.
constexpr const char* kUnfinishedBackup = "backup-unfinished";
constexpr const char* kNoBatch = "none";

/// Looks through a whole library as it is at one moment, while others may write: the database by
/// its own check, every file against its name, the chain of batches and histories beside it, every
/// event against its batch, every hold against the fold of its events.
/// @param repair  Makes the database anew from the batches when anything in it is at fault, also
///                when it is missing; others wait meanwhile, and another repair is refused. Where a
///                batch is lost, the events that only the database still has are written as a new
///                one, and a database that says otherwise than the batches is kept beside. Files
///                are never removed; a lost mesh or photo stays lost and is named, unless
/// @param donor   is a copy of the library (or one it was merged with): lost and damaged files are
///                taken from there first, and the batches of events that it lists behind the last
///                one here. Empty: none.
/// @throws BadInput     There is no library, or with repair no batches to make one from, no room,
///                      somebody else who repairs it, or a database or a file which may hold events
///                      that is not damaged and cannot be read or written to now.
/// @throws Interrupted  progress returned false; nothing was changed.
CheckReport checkLibrary(const std::filesystem::path& folder, bool repair, const Progress& progress,
                         const std::filesystem::path& donor = {});

}  // namespace holdshelf
