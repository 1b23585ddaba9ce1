// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <map>
#include <string>
#include <vector>

namespace holdshelf::test {

struct CrashReport {
  std::map<std::string, int> kills;  ///< By the work that was killed.
  /// By "WORK: PHASE", what the worker had said last that it does; before the library was open
  /// "WORK: starting".
  std::map<std::string, int> phases;
  int during_start = 0;  ///< That were meant to come while it starts.
  /// By work: calls that returned, requests that were answered with 200, pieces of photos.
  std::map<std::string, long> answers;
  long acknowledged = 0;            ///< Events that were seen to be stored.
  long unacknowledged = 0;          ///< Stored, but killed before they could be.
  long photos = 0;                  ///< Of which the server acknowledged at least a piece.
  std::vector<std::string> faults;  ///< Lost or half-written work, in words; empty: none.

  /// Works of which nothing was acknowledged, and phases in which none was killed: what a long run
  /// says nothing about.
  std::vector<std::string> untried() const;
};

/// Starts a process that works on a library, kills it with SIGKILL at a random moment, opens the
/// library again, and holds it against all that was ever acknowledged: every text that was said to
/// be stored is in an event, every event that was ever seen is there with the same bytes, its
/// backup has all that it was ever seen or said to have, and a look through both finds no fault;
/// what the server acknowledged of photos on their way in is there, byte for byte, when it starts
/// again. By turns intake, edits of crates, merging, backing up, new scans with a look at the wear,
/// serving, and bringing a library of the version before up to date, each by turns in each of its
/// phases; a new library every 28 kills. What is refused and should not be is a fault.
///
/// @param worker  The program crash_worker.
CrashReport crashLibrary(const std::filesystem::path& worker, int kills, unsigned seed);

}  // namespace holdshelf::test
