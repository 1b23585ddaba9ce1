// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <string>

#include "catalog/commands/grip_options.h"
#include "catalog/console.h"
#include "catalog/library.h"

namespace holdshelf {

/// `show ID --rotation --wall-angle --pull`: the verdict on the hold's last scan in that mounting,
/// as text or JSON.
void showMounting(const Library& library, const std::string& id, const GripOptions& options,
                  Console& console);

/// `show ID --rose FILE`: the picture of its words in every mounting: PNG where FILE ends in
/// .png, else SVG.
void writeGripRose(const Library& library, const std::string& id, const GripOptions& options,
                   const std::filesystem::path& file);

}  // namespace holdshelf
