// SPDX-License-Identifier: Apache-2.0
#include "catalog/blob_store.h"

#include <algorithm>
#include <mutex>
#include <set>
#include <system_error>

#include "catalog/shown_text.h"
#include "mesh/bad_input.h"
#include "mesh/unfinished.h"

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
  return isBlobName(name) && fs::exists(file(name));
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
    throw BadInput("The library file " + path.string() + " cannot be written (" +
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
  if (!fs::exists(folder_)) return names;
  for (const auto& shelf : fs::directory_iterator(folder_)) {
    if (!shelf.is_directory()) continue;
    for (const auto& entry : fs::directory_iterator(shelf)) {
      const std::string name = shelf.path().filename().string() + entry.path().filename().string();
      if (isBlobName(name)) names.push_back(name);
    }
  }
  std::sort(names.begin(), names.end());
  return names;
}

}  // namespace holdshelf
