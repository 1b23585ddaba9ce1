// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>

#include "catalog/library.h"
#include "mesh/progress.h"

namespace holdshelf {

/// Copies a library to a folder that does not exist yet, which appears whole or not at all. Others
/// may work on the library meanwhile: the copy is its state at one moment. Every file is checked
/// against its name on the way, and all of it is on the disk when this returns.
/// @throws BadInput     The folder exists or cannot be made, or a file is damaged.
/// @throws Interrupted  progress returned false.
void copyLibrary(const Library& library, const std::filesystem::path& to, const Progress& progress);

}  // namespace holdshelf
