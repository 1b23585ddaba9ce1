// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>

#include "catalog/library.h"
#include "mesh/progress.h"
#include "proto/check.pb.h"

namespace holdshelf {

/// Brings a backup up to date, or makes one: the library's state at one moment, in a folder that is
/// itself a library. Others may work on the library meanwhile. Only files that are not there yet
/// are copied; the database is put in place of the old one last, so that the backup is at any time
/// the old state or the new one, whole. In the end all of it is read again and checked, and a file
/// that has been damaged there comes anew.
/// What is lost or damaged in the library is named and does not keep the rest from being backed up;
/// files that an earlier backup took stay there (holdshelf check --from brings them back).
/// @throws BadInput     The database is damaged, the folder holds another library or events that
///                      this one lacks, another backup is being written there, or it cannot be
///                      written: the backup stays as it was (or is the new one, where the disk
///                      fails once all of it is in its place).
/// @throws Interrupted  progress returned false; the same.
BackupReport backupLibrary(const Library& library, const std::filesystem::path& to,
                           const Progress& progress);

/// Makes a library of a backup, which stays as it is and may lie on a read-only disk. The library
/// appears whole or not at all; files that the backup lacks are named.
/// @throws BadInput     There is a library in the folder already, or no backup, or its database is
///                      damaged, or there is no room; nothing was made.
/// @throws Interrupted  progress returned false; the same.
BackupReport restoreBackup(const std::filesystem::path& from, const std::filesystem::path& to,
                           const Progress& progress);

}  // namespace holdshelf
