// SPDX-License-Identifier: Apache-2.0
#include "catalog/repair_turn.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>

#include <cerrno>
#include <system_error>

#include "catalog/library_place.h"
#include "mesh/bad_input.h"

namespace fs = std::filesystem;

namespace holdshelf {

RepairTurn::RepairTurn(const fs::path& place) : place_(place) {
  if (isDatabaseAddress(place_)) return;
  try {
    folder_ = OpenFile(place_, O_RDONLY | O_DIRECTORY);
  } catch (const std::system_error&) {
    return;  // There is nothing to repair; whoever opens the library says so.
  }
  if (::flock(folder_.get(), LOCK_EX | LOCK_NB) != 0 && errno == EWOULDBLOCK)
    throw BadInput("Somebody else repairs the library " + place_.string() +
                   " now: wait until that has ended, and check it then.");
  noteDatabase();
}

void RepairTurn::noteDatabase() { noted_ = filesNow(); }

bool RepairTurn::isAsNoted() const { return filesNow() == noted_; }

/// By what the folder says of them. They are not opened: that would cost this process its locks.
std::string RepairTurn::filesNow() const {
  std::string files;
  for (const char* name : {"holdshelf.sqlite", "holdshelf.sqlite-wal"}) {
    struct stat about = {};
    if (::stat((place_ / name).c_str(), &about) != 0) continue;
    files += name;
    // A number alone may be given again to the next file.
    for (const auto sign :
         {static_cast<long long>(about.st_dev), static_cast<long long>(about.st_ino),
          static_cast<long long>(about.st_size), static_cast<long long>(about.st_mtim.tv_sec),
          static_cast<long long>(about.st_mtim.tv_nsec)})
      files += " " + std::to_string(sign);
    files += "\n";
  }
  return files;
}

}  // namespace holdshelf
