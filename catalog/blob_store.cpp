// SPDX-License-Identifier: Apache-2.0
#include "catalog/blob_store.h"

#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <fstream>
#include <sstream>
#include <system_error>

#include "mesh/bad_input.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

/// A file descriptor that is closed on every way out.
class Descriptor {
 public:
  Descriptor(const fs::path& path, int flags) : fd_(::open(path.c_str(), flags | O_CLOEXEC, 0644)) {
    if (fd_ < 0) throw std::system_error(errno, std::generic_category(), path.string());
  }
  ~Descriptor() { ::close(fd_); }
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  int get() const { return fd_; }

 private:
  int fd_;
};

void writeAll(int fd, std::string_view bytes, const fs::path& path) {
  while (!bytes.empty()) {
    const ssize_t written = ::write(fd, bytes.data(), bytes.size());
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) throw std::system_error(errno, std::generic_category(), path.string());
    bytes.remove_prefix(static_cast<std::size_t>(written));
  }
}

}  // namespace

bool isBlobName(const std::string& name) {
  return name.size() == 64 && name.find_first_not_of("0123456789abcdef") == std::string::npos;
}

std::string readFile(const fs::path& file) {
  if (!fs::exists(file)) throw BadInput(file.string() + ": there is no such file.");
  if (fs::is_directory(file)) throw BadInput(file.string() + " is a folder, not a file.");
  std::ifstream in(file, std::ios::binary);
  std::ostringstream bytes;
  bytes << in.rdbuf();
  if (!in) throw BadInput(file.string() + " cannot be read: check its permissions.");
  return std::move(bytes).str();
}

void syncFolder(const fs::path& folder) {
  const Descriptor descriptor(folder, O_RDONLY | O_DIRECTORY);
  if (::fsync(descriptor.get()) != 0)
    throw std::system_error(errno, std::generic_category(), folder.string());
}

void writeFileDurably(const fs::path& file, std::string_view bytes) {
  const fs::path beside = file.string() + "." + std::to_string(::getpid()) + ".part";
  try {
    {
      const Descriptor out(beside, O_WRONLY | O_CREAT | O_TRUNC);
      writeAll(out.get(), bytes, beside);
      if (::fsync(out.get()) != 0)
        throw std::system_error(errno, std::generic_category(), beside.string());
    }
    fs::rename(beside, file);
    syncFolder(file.has_parent_path() ? file.parent_path() : fs::path("."));
  } catch (...) {
    std::error_code ignored;
    fs::remove(beside, ignored);
    throw;
  }
}

fs::path BlobStore::file(const std::string& name) const {
  return folder_ / name.substr(0, 2) / name.substr(2);
}

bool BlobStore::has(const std::string& name) const {
  return isBlobName(name) && fs::exists(file(name));
}

std::string BlobStore::put(std::string_view bytes) {
  std::string name = sha256Hex(bytes);
  if (has(name)) return name;
  const fs::path path = file(name);
  try {
    if (fs::create_directories(path.parent_path())) syncFolder(folder_);
    writeFileDurably(path, bytes);
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
