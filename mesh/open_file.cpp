// SPDX-License-Identifier: Apache-2.0
#include "mesh/open_file.h"

#include <fcntl.h>
#include <unistd.h>

#include <cerrno>
#include <system_error>

namespace fs = std::filesystem;

namespace holdshelf {

OpenFile::OpenFile(const fs::path& path, int flags)
    : fd_(::open(path.c_str(), flags | O_CLOEXEC, 0644)) {
  if (fd_ < 0) throwErrno(path);
}

OpenFile::~OpenFile() {
  if (fd_ >= 0) ::close(fd_);
}

void throwErrno(const fs::path& path) {
  throw std::system_error(errno, std::generic_category(), path.string());
}

void flushToDisk(const OpenFile& file, const fs::path& path) {
  if (::fsync(file.get()) != 0) throwErrno(path);
}

void syncFile(const fs::path& file) { flushToDisk(OpenFile(file, O_RDONLY), file); }

void syncFolder(const fs::path& folder) {
  flushToDisk(OpenFile(folder, O_RDONLY | O_DIRECTORY), folder);
}

fs::path folderAround(const fs::path& path) {
  return path.has_parent_path() ? path.parent_path() : fs::path(".");
}

void makeFolderDurably(const fs::path& folder) {
  const fs::path around = folderAround(folder);
  if (fs::is_directory(folder) && !fs::is_empty(folder)) return;
  if (folder != around) makeFolderDurably(around);
  fs::create_directory(folder);
  syncFolder(around);
}

}  // namespace holdshelf
