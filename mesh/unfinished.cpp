// SPDX-License-Identifier: Apache-2.0
#include "mesh/unfinished.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <optional>
#include <random>
#include <string_view>
#include <system_error>
#include <vector>

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

constexpr std::chrono::hours kLongUntouched{24};
constexpr std::string_view kTail = ".part", kOlderTail = ".part-";

bool isNumber(std::string_view text) {
  return !text.empty() && text.find_first_not_of("0123456789") == std::string_view::npos;
}

/// The name that something was to have in the end; empty: it is not named like something
/// unfinished.
std::string_view meantName(std::string_view name) {
  if (!name.ends_with(kTail)) {
    const auto older = name.rfind(kOlderTail);
    const bool numbered =
        older != std::string_view::npos && isNumber(name.substr(older + kOlderTail.size()));
    return numbered ? name.substr(0, older) : "";
  }
  name.remove_suffix(kTail.size());
  const auto dot = name.rfind('.');
  // A photo on its way (SHA256.part) has no number.
  return dot != std::string_view::npos && isNumber(name.substr(dot + 1)) ? name.substr(0, dot) : "";
}

/// false: there is something of that name.
bool isMade(const fs::path& path, Unfinished::Kind kind, OpenFile& file) {
  try {
    if (kind == Unfinished::Kind::File) {
      file = OpenFile(path, O_WRONLY | O_CREAT | O_EXCL);
    } else {
      if (::mkdir(path.c_str(), 0777) != 0) throwErrno(path);
      file = OpenFile(path, O_RDONLY | O_DIRECTORY);
    }
    return true;
  } catch (const std::system_error& failure) {
    if (failure.code() == std::errc::file_exists) return false;
    throw;
  }
}

/// Of it and of all that is in it; nothing where that cannot be told.
std::optional<fs::file_time_type> lastChange(const fs::path& path) {
  std::error_code error;
  auto last = fs::last_write_time(path, error);
  if (error) return std::nullopt;
  if (!fs::is_directory(path, error)) return last;
  fs::recursive_directory_iterator at(path, error);
  for (; !error && at != fs::recursive_directory_iterator(); at.increment(error)) {
    if (at->is_symlink(error)) continue;
    const auto changed = at->last_write_time(error);
    if (error) return std::nullopt;
    last = std::max(last, changed);
  }
  if (error) return std::nullopt;
  return last;
}

bool isLongUntouched(const fs::path& path) {
  const auto last = lastChange(path);
  return last && fs::file_time_type::clock::now() - *last > kLongUntouched;
}

bool isLocked(const fs::path& path) {
  try {
    const OpenFile file(path, O_RDONLY | O_NONBLOCK | O_NOFOLLOW);
    // Where there are no locks, nobody has one.
    return ::flock(file.get(), LOCK_SH | LOCK_NB) != 0 && errno == EWOULDBLOCK;
  } catch (const std::system_error&) {
    return true;  // It may be.
  }
}

}  // namespace

Unfinished::Unfinished(fs::path place, Kind kind) : place_(std::move(place)) {
  if (kind == Kind::Folder) {
    const fs::path around = folderAround(place_);
    makeFolderDurably(around);
    sweepUnfinished(around, place_.filename());
  }
  do path_ = nameBeside(place_);
  while (!isMade(path_, kind, file_));
  // Nobody else asks for the lock of what is so new. Where there are no locks, the time has to do.
  (void)::flock(file_.get(), LOCK_EX | LOCK_NB);
}

Unfinished::~Unfinished() {
  std::error_code ignored;  // Nothing is there any more if it took its place.
  fs::remove_all(path_, ignored);
}

void Unfinished::touch() const { (void)::futimens(file_.get(), nullptr); }

void Unfinished::takePlace() { fs::rename(path_, place_); }

void Unfinished::takePlaceDurably() {
  flushToDisk(file_, path_);
  takePlace();
  syncFolder(folderAround(place_));
}

fs::path nameBeside(const fs::path& place) {
  return place.string() + "." + std::to_string(std::random_device()()) + std::string(kTail);
}

bool isUnfinishedName(const std::string& name) { return !meantName(name).empty(); }

bool isLeftBehind(const fs::path& path) {
  // The time first: so nobody is asked for a lock that is only about to be taken.
  return isLongUntouched(path) && !isLocked(path);
}

void sweepUnfinished(const fs::path& folder, const std::string& meant_as) {
  std::error_code error;
  std::vector<fs::path> left;
  fs::directory_iterator at(folder, error);
  for (; !error && at != fs::directory_iterator(); at.increment(error)) {
    const std::string name = at->path().filename().string();
    const std::string_view meant = meantName(name);
    if (!meant.empty() && (meant_as.empty() || meant == meant_as) && isLeftBehind(at->path()))
      left.push_back(at->path());
  }
  for (const fs::path& path : left) fs::remove_all(path, error);
}

}  // namespace holdshelf
