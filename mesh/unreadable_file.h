// SPDX-License-Identifier: Apache-2.0
#pragma once
#include "mesh/bad_input.h"

namespace holdshelf {

/// A file is there, and the disk or the system does not give it now (no permission, a failing disk,
/// too many open files): that says nothing of what it holds, and it is neither lost nor damaged.
/// What mesh/whole_file.h reads is refused so, and with it a folder's blobs.
class UnreadableFile : public BadInput {
  using BadInput::BadInput;
};

}  // namespace holdshelf
