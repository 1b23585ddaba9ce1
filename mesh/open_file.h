// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>
#include <utility>

namespace holdshelf {

/// An open file or folder, closed on every way out.
class OpenFile {
 public:
  OpenFile() = default;
  /// @throws std::system_error  It cannot be opened.
  OpenFile(const std::filesystem::path& path, int flags);
  ~OpenFile();
  OpenFile(OpenFile&& other) noexcept : fd_(std::exchange(other.fd_, -1)) {}
  OpenFile& operator=(OpenFile&& other) noexcept {
    std::swap(fd_, other.fd_);
    return *this;
  }
  int get() const { return fd_; }

 private:
  int fd_ = -1;
};

/// Throws what has just gone wrong with a file, as errno has it, as a std::system_error.
[[noreturn]] void throwErrno(const std::filesystem::path& path);

/// Has the disk take what was written to a file, or the names that were given in a folder: a new or
/// renamed file is durable only when its folder was flushed. @throws std::system_error
void flushToDisk(const OpenFile& file, const std::filesystem::path& path);
void syncFile(const std::filesystem::path& file);
void syncFolder(const std::filesystem::path& folder);

/// The folder that a name is given in; "." where it is given in none.
std::filesystem::path folderAround(const std::filesystem::path& path);

/// Makes a folder with all that lead to it, and has the disk take them before anything is put
/// there. So one with something in it is on the disk, whoever made it, and one that is empty may
/// not be.
/// @throws std::system_error  One cannot be made.
void makeFolderDurably(const std::filesystem::path& folder);

}  // namespace holdshelf
