// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

namespace holdshelf {

/// Reads a whole file. @throws BadInput  It is missing, a folder, or cannot be read to its end.
std::string readFile(const std::filesystem::path& file);

/// The same; nothing where there is no such file.
std::optional<std::string> readFileIfThere(const std::filesystem::path& file);

/// Whether a file is there, can be read and holds these very bytes.
bool fileHolds(const std::filesystem::path& file, std::string_view bytes);

/// Writes a file whole or not at all: beside its place (mesh/unfinished.h), then renamed.
/// @throws BadInput  Its folder does not exist, has no room or may not be written to.
void writeWhole(const std::filesystem::path& file, std::string_view bytes);

/// The same, flushed to the disk before and after it is renamed. @throws std::system_error
void writeFileDurably(const std::filesystem::path& file, std::string_view bytes);

}  // namespace holdshelf
