// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_copy.h"

#include <set>

#include "catalog/library_merge.h"
#include "catalog/readable_events.h"
#include "mesh/bad_input.h"
#include "mesh/unfinished.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

void report(const Progress& progress, double done) {
  if (progress && !progress("copying files", done)) throw Interrupted();
}

void copyDatabase(const Library& library, const fs::path& file, const fs::path& to) {
  try {
    // A snapshot, also while others write; the files that it refers to were stored before it.
    sqlite::Statement(library.database(), "VACUUM INTO ?").bind(1, file.string()).run();
  } catch (const sqlite::Error& failure) {
    throw BadInput("The library cannot be copied to " + to.string() + " (" + failure.what() +
                   "): check that the disk has room, or run holdshelf check.");
  }
  syncFile(file);  // SQLite does it, and does not promise it.
}

/// Names of all files that the library in a folder refers to, as far as it can be read.
std::set<std::string> filesOf(const fs::path& folder) {
  const Library library = Library::open(folder);
  const auto batches = library.store().batches();
  std::set<std::string> names(batches.begin(), batches.end());
  (void)forEachReadableEvent(library.store(), [&](const Event& event) {
    for (std::string& name : blobsOf(event)) names.insert(std::move(name));
  });
  return names;
}

void copyFiles(const Blobs& from, const std::set<std::string>& names, const fs::path& folder,
               const Progress& progress) {
  BlobStore blobs(folder);
  std::size_t at = 0;
  for (const std::string& name : names) {
    report(progress, static_cast<double>(at++) / static_cast<double>(names.size()));
    // A lost one is lost in the copy too, and its check says so.
    if (from.has(name)) blobs.put(from.get(name));
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
    // What nothing refers to comes along, but not what is stored after the snapshot: batches among
    // that would look like lost ones in the copy.
    const auto before = library.blobs().names();
    copyDatabase(library, part.path() / "holdshelf.sqlite", to);
    report(progress, 0);
    std::set<std::string> names = filesOf(part.path());
    names.insert(before.begin(), before.end());
    copyFiles(library.blobs(), names, part.path() / "blobs", progress);
    part.takePlaceDurably();
  } catch (const std::system_error& failure) {
    throw BadInput(to.string() + " cannot be made (" + failure.code().message() +
                   "): choose a folder that you may write to, on a disk that has room.");
  }
}

}  // namespace holdshelf
