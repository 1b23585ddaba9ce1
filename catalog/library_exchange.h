// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>

#include "catalog/library.h"
#include "mesh/progress.h"
#include "mesh/triangle_mesh.h"
#include "proto/merge.pb.h"

namespace holdshelf {

/// Writes the whole library in open formats to a folder that does not exist yet, which appears
/// whole or not at all: holds.csv (catalog/library_csv.h), holds.json (HoldList: the records),
/// events.json (EventList: everything that happened, the proto3 JSON mapping), blobs/ (the files
/// that the events name) and meshes/H-0001.ply, ... (each hold's last scan).
/// @throws BadInput  The folder exists or cannot be made, or a file is lost.
void exportLibrary(const Library& library, const std::filesystem::path& to,
                   const Progress& progress);

/// Takes an exported folder back by the rules of a merge (catalog/library_merge.h): into an empty
/// library it gives the same holds with the same history.
/// @throws BadInput  No events.json in it, or not the mapping of an EventList.
MergeReport importFolder(Library& library, const std::filesystem::path& folder, bool dry_run,
                         const Progress& progress);

}  // namespace holdshelf
