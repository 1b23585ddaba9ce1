// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "catalog/library.h"
#include "mesh/progress.h"
#include "proto/merge.pb.h"

namespace holdshelf {

/// Events of another library and where the files are that they name.
struct MergeSource {
  std::string name;  ///< For notes and sentences: the folder's name.
  std::vector<Event> events;
  const Blobs* blobs = nullptr;
};

/// Digest of an event as it was first written, wherever it has been merged to since: what tells
/// that two libraries hold the same event.
std::string originOf(const Event& event);

/// Names of the files that an event refers to.
std::vector<std::string> blobsOf(const Event& event);

/// Adds to the library what the source knows and it does not, in one commit; nothing is changed or
/// lost, and merging again adds nothing. The rules, in this order:
/// 1. An event that is in both (a copy of the library, or merged before) is left alone.
/// 2. A hold with such an event is that hold, and its other events are added to it.
/// 3. A hold that has a scan in common with exactly one hold here (the same mesh file) is that
///    hold: its events are added, and its creation becomes a note with its labels.
/// 4. Any other hold is new. It keeps its id if that is free, else it gets the next free one and a
///    note of what it was called.
/// Events keep their time and person, and a hold is the fold of its events by time: of two moves
/// the later one holds, whichever library it was made in.
/// Climbs come along by rules 1, 2 and 4; every other thing beside holds (the walls) under its own
/// name if that is free here: where it is taken it is left out, and said so. Wherever an event
/// names a hold or a climb (named_ids.h), it names the one that it is here.
/// @param dry_run       Says what would happen; changes nothing.
/// @throws BadInput     A file is missing or damaged in the source, or an event that would come
///                      says what cannot be so (foreign_event.h); nothing is merged.
/// @throws Interrupted  progress returned false; nothing is merged.
MergeReport mergeInto(Library& library, const MergeSource& source, bool dry_run,
                      const Progress& progress);

/// Another library as a source. Its blobs must outlive the source.
MergeSource mergeSourceOf(const Library& other);

}  // namespace holdshelf
