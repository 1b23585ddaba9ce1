// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "catalog/commands/command.h"

namespace holdshelf {

/// A text to read, in Markdown (CommonMark): what `holdshelf help NAME` prints, what the manual
/// pages are made of, and, for a guide, the file in the repository that people read.
struct HelpPage {
  std::string name;      ///< What it is asked for by: "find", "climb-place", "clerk".
  std::string summary;   ///< One line.
  std::string markdown;  ///< With the headings of a manual page (NAME, SYNOPSIS, ...).
  int section = 1;       ///< Of the manual: 1 a command, 7 a guide.
};

/// One page for the program, one for each command and one for each command of a command, made of
/// the same words as `--help`.
std::vector<HelpPage> commandPages(const CLI::App& program);

/// The guides: a page each for the clerk, the setter, the head setter, whoever takes the photos,
/// and the search line.
const std::vector<HelpPage>& guidePages();

/// A script for bash (and for zsh through bashcompinit) that completes commands, options and, for
/// what does not begin with a dash, the names of files.
std::string bashCompletion(const CLI::App& program);

}  // namespace holdshelf
