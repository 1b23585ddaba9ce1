// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <functional>
#include <string>

#include "catalog/child_process.h"
#include "proto/intake.pb.h"

namespace holdshelf {

// The two children of an intake desk: `program desk look` and `program desk rebuild`. They read the
// intake's state and photos from its folder, and tell on standard output how they get on.

/// How a look at a photo ended: the child's status, and what it saw; a child that said nothing
/// leaves the word that the photo cannot be read.
struct LookEnd {
  int status = 0;
  PhotoLook look;
};
/// @param picture  Name of the small picture that is left in the folder.
LookEnd lookInChild(ChildProcess& child, const std::filesystem::path& program,
                    const std::filesystem::path& folder, const std::string& label,
                    const std::string& picture);

/// How a rebuild ended: the child's status, and why it failed in a sentence, if it said so.
struct RebuildEnd {
  int status = 0;
  std::string failure;
};
/// Leaves what it rebuilt in the folder (catalog/finished_files.h). Where the library is shared,
/// who is free does it.
/// @param moved  Called with the part that is done, 0 to 1, and the step.
RebuildEnd rebuildInChild(ChildProcess& child, const std::filesystem::path& program,
                          const std::filesystem::path& folder, const std::filesystem::path& library,
                          const std::function<void(double done, const std::string& step)>& moved);

}  // namespace holdshelf
