// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "catalog/blob_store.h"
#include "catalog/library.h"
#include "proto/event.pb.h"

namespace holdshelf::test {

/// Files that events from elsewhere may name, and that are there with them: the meshes of
/// measuredHistories(), and the one that filled messages name (filled_message.h).
void putFilesOfSeeds(Blobs& blobs);

/// Holds with one scan each that was really made, its sections and grips with it: a dome, a ledge,
/// the ledge with fewer points and no file, and two of one shape. Few rotations of coarse meshes,
/// so that a fuzzer keeps them whole.
std::vector<std::vector<Event>> measuredHistories();

/// All that a library is asked once somebody's events are in it: every hold with its history, the
/// index of search by numbers and by lips, a verdict of every scan, twins, the check of all of it.
/// @throws std::logic_error  One of these refuses what was accepted, or the check finds a fault in
/// it.
void useAll(const Library& library);

}  // namespace holdshelf::test
