// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <string>

#include "mesh/open_file.h"

namespace holdshelf {

/// A file or folder that is being made beside the place that it will take, under a name that nobody
/// else has (PLACE.NUMBER.part); removed, with all that is in it, unless it got there.
///
/// A process that is killed leaves it behind, and whoever writes there next sweeps it up. Two
/// signs keep what is still being made from that, and both must be gone: a lock on it, which ends
/// with the process that made it, and a change less than a day ago, for file systems whose locks
/// other machines do not see.
class Unfinished {
 public:
  enum class Kind { File, Folder };

  /// A folder comes with those that lead to it; what was left behind of another for the same place
  /// is swept up. (Files may be meant for folders that are too full to be looked through each
  /// time.)
  /// @throws std::system_error  It cannot be made.
  Unfinished(std::filesystem::path place, Kind kind);
  ~Unfinished();
  Unfinished(const Unfinished&) = delete;
  Unfinished& operator=(const Unfinished&) = delete;

  const std::filesystem::path& path() const { return path_; }
  /// Of a file it is open for writing.
  const OpenFile& file() const { return file_; }
  /// A sign of life, for a folder in which nothing changes for long.
  void touch() const;

  /// @throws std::system_error  What is in its place cannot be replaced.
  void takePlace();
  /// The same, with its bytes, or the names that are directly in it, and its own on the disk.
  void takePlaceDurably();

 private:
  std::filesystem::path place_, path_;
  OpenFile file_;
};

/// A name of that form that nobody has.
std::filesystem::path nameBeside(const std::filesystem::path& place);

/// Whether a name is of that form, or of the one that older programs gave (PLACE.part-NUMBER).
bool isUnfinishedName(const std::string& name);

/// Whether both signs are gone.
bool isLeftBehind(const std::filesystem::path& path);

/// Removes what was left behind unfinished in a folder; not in those below it. What cannot be
/// removed stays, and in a folder that is not there is nothing.
/// @param meant_as  Only what was to take a place of this name; empty: all.
void sweepUnfinished(const std::filesystem::path& folder, const std::string& meant_as = {});

}  // namespace holdshelf
