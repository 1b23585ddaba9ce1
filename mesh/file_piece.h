// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <filesystem>
#include <string_view>

#include "mesh/open_file.h"

namespace holdshelf {

/// Writes all of them where an open file is. @throws std::system_error
void writeAll(const OpenFile& to, std::string_view bytes, const std::filesystem::path& file);

/// Puts bytes behind the first `offset` ones of a file, which is made where there is none; what lay
/// behind those goes first. Whoever needs them on the disk flushes the file (mesh/open_file.h).
/// @throws std::system_error  They, or a part of them, cannot be written.
void putPiece(const std::filesystem::path& file, std::int64_t offset, std::string_view bytes);

}  // namespace holdshelf
