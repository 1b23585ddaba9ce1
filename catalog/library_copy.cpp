// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_copy.h"

#include "mesh/bad_input.h"
#include "mesh/unfinished.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

void copyDatabase(const Library& library, const fs::path& file, const fs::path& to) {
  try {
    // A snapshot, also while others write; what it refers to is in the blobs before it.
    sqlite::Statement(library.database(), "VACUUM INTO ?").bind(1, file.string()).run();
  } catch (const sqlite::Error& failure) {
    throw BadInput("The library cannot be copied to " + to.string() + " (" + failure.what() +
                   "): check that the disk has room, or run holdshelf check.");
  }
  syncFile(file);  // SQLite does it, and does not promise it.
}

void copyFiles(const Library& library, const fs::path& folder, const Progress& progress) {
  BlobStore blobs(folder);
  const auto names = library.blobs().names();
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (progress &&
        !progress("copying files", static_cast<double>(i) / static_cast<double>(names.size())))
      throw Interrupted();
    blobs.put(library.blobs().get(names[i]));
  }
}

}  // namespace

void copyLibrary(const Library& library, const fs::path& to, const Progress& progress) {
  if (fs::exists(to))
    throw BadInput(to.string() + " exists already: name a folder that does not, or merge into it.");
  fs::path target = fs::absolute(to).lexically_normal();
  if (target.filename().empty()) target = target.parent_path();
  try {
    Unfinished part(target, Unfinished::Kind::Folder);
    copyDatabase(library, part.path() / "holdshelf.sqlite", to);
    copyFiles(library, part.path() / "blobs", progress);
    part.takePlaceDurably();
  } catch (const std::system_error& failure) {
    throw BadInput(to.string() + " cannot be made (" + failure.code().message() +
                   "): choose a folder that you may write to, on a disk that has room.");
  }
}

}  // namespace holdshelf
