// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>

#include "catalog/intake.h"

namespace holdshelf {

/// A finished scan kept in a folder until a person has said what it is; without its photos.
/// Written whole or not at all: the file with the numbers comes last.
void writeFinished(const std::filesystem::path& folder, const ReadyScan& ready);

/// @throws BadInput  There is none, or a file of it is damaged.
ReadyScan readFinished(const std::filesystem::path& folder);

/// Names of its files, the one with the numbers last.
std::vector<std::string> finishedNames();
bool hasFinished(const std::filesystem::path& folder);
/// Its contact sheet. @throws BadInput  There is none.
std::string finishedSheet(const std::filesystem::path& folder);
void removeFinished(const std::filesystem::path& folder);

}  // namespace holdshelf
