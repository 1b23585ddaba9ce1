// SPDX-License-Identifier: Apache-2.0
#include "catalog/blob_store.h"

#include <algorithm>
#include <mutex>
#include <set>
#include <system_error>

#include "catalog/library_store.h"
#include "catalog/shown_text.h"
#include "mesh/bad_input.h"
#include "mesh/unfinished.h"
#include "mesh/unreadable_file.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

/// Makes the folder that a blob is to lie in. What a killed process left unfinished there goes;
/// once in the life of this one is enough.
void openShelf(const fs::path& shelf) {
  static std::mutex mutex;
  static std::set<fs::path> swept;
  makeFolderDurably(shelf);
  {
    const std::lock_guard lock(mutex);
    if (!swept.insert(shelf).second) return;
  }
  sweepUnfinished(shelf);
}

[[noreturn]] void refuseUnreadable(const fs::path& path, const std::error_code& why) {
  throw UnreadableFile("The library file or folder " + path.string() + " cannot be read (" +
                       why.message() + "): check its permissions and the disk.");
}

}  // namespace

bool bringBlob(const std::string& name, const Blobs& from, Blobs& to) {
  const bool there = to.has(name);
  const auto bytes = [&] {
    try {
      return from.get(name);
    } catch (const BadInput&) {
      if (!there) throw;
      return to.get(name);
    }
  };
  to.put(bytes());
  return !there;
}

bool isBlobName(const std::string& name) {
  return name.size() == 64 && name.find_first_not_of("0123456789abcdef") == std::string::npos;
}

void needBlobName(const std::string& name) {
  if (!isBlobName(name))
    throw BadInput("\"" + shownStart(name, 70) +
                   "\" is no name of a library file (64 hex digits): the events that give it are "
                   "damaged; take them from another copy.");
}

fs::path BlobStore::file(const std::string& name) const {
  needBlobName(name);
  return folder_ / name.substr(0, 2) / name.substr(2);
}

bool BlobStore::has(const std::string& name) const {
  if (!isBlobName(name)) return false;
  std::error_code unknown;
  const bool there = fs::exists(file(name), unknown);
  if (unknown) refuseUnreadable(file(name), unknown);
  return there;
}

std::string BlobStore::put(std::string_view bytes) {
  std::string name = sha256Hex(bytes);
  const fs::path path = file(name);
  try {
    openShelf(path.parent_path());
    // The bytes are in hand: of those on the disk it is not believed that they are the same.
    if (!fileHolds(path, bytes)) {
      writeFileDurably(path, bytes);
    } else {
      syncFolder(path.parent_path());  // Whoever put them may have ended before that.
    }
  } catch (const std::system_error& failure) {
    throw StoreUnavailable("The library file " + path.string() + " cannot be written (" +
                           failure.code().message() +
                           "): check that the disk has room and that you may write there.");
  }
  return name;
}

std::string BlobStore::get(const std::string& name) const {
  if (!has(name))
    throw BadInput("The library has lost the file " + file(name).string() +
                   ": run holdshelf check, or copy it back from a copy of the library.");
  std::string bytes = readFile(file(name));
  if (sha256Hex(bytes) != name)
    throw BadInput("The library file " + file(name).string() +
                   " has changed on the disk: copy it back from a copy of the library.");
  return bytes;
}

void BlobStore::discard(const std::string& name) {
  std::error_code ignored;
  fs::remove(file(name), ignored);
}

std::vector<std::string> BlobStore::names() const {
  std::vector<std::string> names;
  try {
    if (!fs::exists(folder_)) return names;
    for (const auto& shelf : fs::directory_iterator(folder_)) {
      if (!shelf.is_directory()) continue;
      for (const auto& entry : fs::directory_iterator(shelf)) {
        const std::string name =
            shelf.path().filename().string() + entry.path().filename().string();
        if (isBlobName(name)) names.push_back(name);
      }
    }
  } catch (const fs::filesystem_error& failure) {
    refuseUnreadable(failure.path1(), failure.code());
  }
  std::sort(names.begin(), names.end());
  return names;
}

}  // namespace holdshelf
