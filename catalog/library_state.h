// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>

#include "catalog/library.h"

namespace holdshelf {

/// For whoever keeps what he read of a library: as long as this is the same, so is the library.
struct LibraryState {
  /// Of its database. A repair makes another one, be its events the same: what was read before may
  /// have been damaged.
  std::int64_t making = 0;
  std::int64_t event = 0;  ///< The last one's number; 0: none.

  friend bool operator==(const LibraryState&, const LibraryState&) = default;
};

/// Both as of one moment.
LibraryState stateOf(const Library& library);

/// Whether a library in a folder is no longer the one that was opened: its database was set aside
/// or replaced, and changes only where nobody looks. Shared ones stay where they are.
bool isReplaced(const Library& library);

}  // namespace holdshelf
