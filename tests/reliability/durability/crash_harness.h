// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <map>
#include <string>
#include <vector>

namespace holdshelf::test {

struct CrashReport {
  std::map<std::string, int> kills;  ///< By the work that was killed.
  int during_start = 0;              ///< Of them, before the library was open.
  long acknowledged = 0;             ///< Events whose commit was acknowledged.
  long unacknowledged = 0;           ///< Stored, but killed before they could be.
  long photos = 0;                   ///< Of which the server acknowledged at least a piece.
  std::vector<std::string> faults;   ///< Lost or half-written work, in words; empty: none.
};

/// Starts a process that works on a library, kills it with SIGKILL at a random moment, opens the
/// library again, and holds it against all that was ever acknowledged: every such event is there
/// with the same bytes, its backup has all that it was ever seen or said to have, and a look
/// through both finds no fault; what the server acknowledged of photos on their way in is there
/// when it starts again. By turns intake, edits of crates, merging, backing up, new scans with a
/// look at the wear, serving, and bringing a library of the version before up to date; a new
/// library every 28 kills.
///
/// @param worker  The program crash_worker.
CrashReport crashLibrary(const std::filesystem::path& worker, int kills, unsigned seed);

}  // namespace holdshelf::test
