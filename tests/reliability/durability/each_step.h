// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <doctest/doctest.h>

#include <exception>
#include <functional>
#include <optional>
#include <string>

#include "mesh/open_file.h"
#include "tests/catalog/temp_folder.h"
#include "tests/reliability/durability/faulty_disk.h"

namespace holdshelf::test {

/// A work on a disk that goes wrong, on a fresh one each time.
struct StepwiseWork {
  std::function<void(const TempFolder&)> prepare;
  /// What the disk goes wrong under; throws where it is told so.
  std::function<void(const TempFolder&)> work;
  /// Once the machine is started again. @param said  The work said that it is done.
  std::function<void(const TempFolder&, bool said)> judge;
  std::string disk = "";  ///< What of the folder is on it; empty: all.
};

/// Lets the disk go wrong at each stride-th write or flush of the work, and once, as a power cut,
/// after all of them. @return  How many writes and flushes it has, as far as strides tell.
inline long failAtEachStep(DiskFault fault, long stride, const StepwiseWork& work) {
  bool happened = true;
  long at = 1;
  // Where each step is tried, what a power cut takes is, too, by three chances.
  const int chances = stride == 1 && fault == DiskFault::PowerCut ? 3 : 1;
  for (int chance = 0; happened || chance % chances != 0; ++chance) {
    if (chance > 0 && chance % chances == 0) at += stride;
    CAPTURE(static_cast<int>(fault));
    CAPTURE(at);
    REQUIRE(at < 4000);
    const TempFolder folder;
    std::optional<FaultyDisk> disk(folder.path());  // Nothing goes wrong: no flush is waited for.
    work.prepare(folder);
    const auto below = work.disk.empty() ? folder.path() : folder / work.disk;
    disk.reset();
    disk.emplace(below);
    disk->arm(fault, at, static_cast<unsigned>(at + 1000 * (chance % chances)));
    bool said = false;
    try {
      work.work(folder);
      said = true;
    } catch (const std::exception&) {
    }
    happened = disk->happened();
    if (!happened) {
      disk->arm(DiskFault::PowerCut, 1, static_cast<unsigned>(at));
      CHECK_THROWS(syncFolder(below));
    }
    disk->restart();
    disk.reset();
    disk.emplace(folder.path());
    work.judge(folder, said);
  }
  return at;
}

}  // namespace holdshelf::test
