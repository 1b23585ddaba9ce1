// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <CLI/CLI.hpp>
#include <optional>
#include <string>
#include <vector>

#include "catalog/bolt_length.h"

namespace holdshelf {

/// What the commands that choose bolts have in common.
struct BoltOptions {
  BoltSettings settings;
  std::string head, bolts;
  std::vector<std::string> have;  ///< Each LENGTH=COUNT.

  /// @throws BadInput  Not a head or thread.
  BoltHead boltHead() const;
  Thread boltThread() const;
  /// The stock as said; nullopt: none was, so every length is there.
  /// @throws BadInput  Not LENGTH=COUNT.
  std::optional<std::vector<BoltStock>> stock() const;
};

/// Sets one of the judgements of BoltSettings: "least_turns=5".
/// @throws BadInput  No such name, or a number out of its range.
void setByName(BoltSettings& settings, const std::string& text);

/// --engage, --washer, --past, --setting: by what a bolt is chosen, and judged afterwards.
void addBoltSettings(CLI::App* command, BoltSettings& settings);
/// These, and --half-inches, --head, --bolts, --have.
void addBoltOptions(CLI::App* command, BoltOptions& options);

}  // namespace holdshelf
