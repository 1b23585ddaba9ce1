// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_copy.h"

#include <unistd.h>

#include "mesh/bad_input.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

/// Removes what was made so far unless the work was finished.
struct Unfinished {
  fs::path folder;
  bool done = false;
  ~Unfinished() {
    std::error_code ignored;
    if (!done) fs::remove_all(folder, ignored);
  }
};

}  // namespace

void copyLibrary(const Library& library, const fs::path& to, const Progress& progress) {
  if (fs::exists(to))
    throw BadInput(to.string() + " exists already: name a folder that does not, or merge into it.");
  fs::path target = fs::absolute(to).lexically_normal();
  if (target.filename().empty()) target = target.parent_path();
  Unfinished part{target.string() + ".part-" + std::to_string(::getpid())};
  std::error_code error;
  fs::create_directories(part.folder, error);
  if (error)
    throw BadInput(to.string() + " cannot be made (" + error.message() +
                   "): choose a folder that you may write to.");
  try {
    // A snapshot, also while others write; what it refers to is in the blobs before it.
    sqlite::Statement(library.database(), "VACUUM INTO ?")
        .bind(1, (part.folder / "holdshelf.sqlite").string())
        .run();
  } catch (const sqlite::Error& failure) {
    throw BadInput("The library cannot be copied to " + to.string() + " (" + failure.what() +
                   "): check that the disk has room, or run holdshelf check.");
  }
  BlobStore blobs(part.folder / "blobs");
  const auto names = library.blobs().names();
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (progress &&
        !progress("copying files", static_cast<double>(i) / static_cast<double>(names.size())))
      throw Interrupted();
    blobs.put(library.blobs().get(names[i]));
  }
  fs::rename(part.folder, target, error);
  if (error)
    throw BadInput(to.string() + " cannot be made (" + error.message() +
                   "): choose a folder that you may write to.");
  part.done = true;
}

}  // namespace holdshelf
