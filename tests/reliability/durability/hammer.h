// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <functional>
#include <map>
#include <string>
#include <vector>

namespace holdshelf::test {

/// How long answers took, ms.
struct Waits {
  std::vector<double> ms;
  /// The value that this part of them do not exceed; 0 without any.
  double quantile(double part) const;
};

struct HammerReport {
  std::map<std::string, long> operations;  ///< By kind and way in: "write, server".
  long refused = 0;                        ///< Of them, because somebody else had the hold.
  long unanswered = 0;  ///< No answer within five minutes: a deadlock, or a process that died.
  long taken_in = 0;    ///< Holds that came in meanwhile; each is there once.
  long notes = 0;       ///< Acknowledged notes; each is in its hold's history once.
  Waits reads, reads_during_intake;  ///< Of a reader through the server who does nothing else.
  Waits shown, shown_during_intake;  ///< Of the clients' reads through the command line.
  std::vector<std::string> faults;   ///< What is not linearizable, lost or found by the check.
};

struct HammerOptions {
  std::filesystem::path program;  ///< holdshelf
  std::filesystem::path mesh;     ///< A mesh file, taken in again and again.
  double seconds = 5;
  /// Where that was not enough, as on a slow machine, it goes on until it is, for at most
  /// longest_seconds in all.
  std::function<bool(const HammerReport&)> enough = {};
  double longest_seconds = 0;
  unsigned seed = 1;
  int holds = 6;  ///< Objects that all fight for; fewer: more conflicts.
};

/// Eight clients work on one library at once, four through `holdshelf serve`, four through the
/// command line: they write and read the bins of a few holds, take these into two crates and put
/// them back, and add notes, while another process takes holds in one after the other. The recorded
/// answers are then judged (linear_history.h), every acknowledged note and every
/// hold that was taken in is looked for, `holdshelf check` runs, and the server has to end well.
HammerReport hammerLibrary(const HammerOptions& options);

}  // namespace holdshelf::test
