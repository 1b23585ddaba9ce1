// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "catalog/library.h"
#include "proto/check.pb.h"

namespace holdshelf {

// What mends a damaged library (catalog/library_check.h). Nothing is deleted but the damaged copy
// of a file that comes back whole. Each says in the report what it mended.

/// Brings lost and damaged files back from another library's. A batch that comes back may name
/// further files, so that it goes round until nothing comes.
/// @throws BadInput  There is no library at `donor`.
void mendFiles(const std::filesystem::path& folder, const std::filesystem::path& donor,
               CheckReport& report);

/// The viewers' meshes are made of the meshes again, where that gives the very files that were
/// lost.
void remakeViewerMeshes(const std::filesystem::path& folder, CheckReport& report);

/// One batch of all events, in place of a chain that has lost a link. @return  Its name.
std::string rewriteBatches(const std::filesystem::path& folder, const std::vector<Event>& events);

/// Makes the database anew of the batches: in place where it can be written to, else it is set
/// aside and another one made.
/// @throws BadInput  It is not a folder's, and cannot be written to.
void restoreDatabase(const std::filesystem::path& folder, std::optional<Library>& library,
                     const std::vector<std::string>& batches, const std::vector<Event>& events,
                     CheckReport& report);

}  // namespace holdshelf
