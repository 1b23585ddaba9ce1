// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <filesystem>
#include <map>
#include <set>
#include <string>
#include <utility>
#include <vector>

namespace holdshelf::test {

/// What a photo on its way in was said to have.
struct AcknowledgedPiece {
  std::int64_t bytes = 0;
  std::string sha256;  ///< Of these bytes, from the photo's first one.
};

/// What the callers of one library were ever told to be stored, and what is missing of it.
struct Acknowledged {
  /// Texts that nothing else has (names, notes, ids of scans), said as soon as a call or a request
  /// that stores them had its answer, before anything was read again.
  std::set<std::string> texts;
  std::map<std::int64_t, std::string> events;  ///< Digests of events that were seen, by number.
  /// By intake and the whole photo's SHA-256.
  std::map<std::pair<std::string, std::string>, AcknowledgedPiece> pieces;

  /// Adds what a worker wrote (crash_worker.cpp), whole lines only: the last one may have been cut
  /// off. `backup` gets what was said to be in the backup.
  /// @return  What the worker itself found wrong.
  std::vector<std::string> read(const std::string& lines, Acknowledged& backup);

  /// Holds the library against it, in sentences. From then on all its events are told of.
  /// @return  What is lost.
  std::vector<std::string> lostIn(const std::filesystem::path& library);
};

}  // namespace holdshelf::test
