// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <memory>

#include "catalog/postgres.h"

namespace holdshelf {

/// A connection to the database of an address (library_place.h), from those that this process has
/// idle (the 16 given back last) or a new one; given back when the last owner lets go. One that the
/// server has ended meanwhile, or that is let go in the middle of a transaction, is not handed out
/// again. Safe from several threads; the connection serves one at a time.
/// @throws BadInput  The address names a password. @throws postgres::Error  No server there.
std::shared_ptr<postgres::Connection> borrowConnection(const std::filesystem::path& address);

}  // namespace holdshelf
