// SPDX-License-Identifier: Apache-2.0
#include "tests/reliability/durability/faulty_disk.h"

#include <fcntl.h>
#include <sqlite3.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <fstream>
#include <map>
#include <new>
#include <random>
#include <set>
#include <string>
#include <vector>

namespace fs = std::filesystem;

namespace holdshelf::test {
namespace {

constexpr std::size_t kSector = 512;

struct Write {
  sqlite3_int64 at = 0;
  std::string bytes;
};

/// A file of SQLite's as it was at its last flush, and what was done to it since.
struct Unflushed {
  std::string base;
  std::vector<Write> writes;
  bool truncated = false;  ///< Its length was cut too, which may be lost as well.
};

struct State {
  fs::path folder;
  DiskFault fault = DiskFault::None;
  long at = 0, count = 0;
  bool happened = false, off = false;
  std::mt19937 random;
  std::map<std::string, Unflushed> files;  ///< Of SQLite, by path.
  std::set<std::string> durable_names;     ///< Below the folder, of whole files.
  std::set<ino_t> flushed;                 ///< Files whose bytes were flushed.
  sqlite3_vfs* real = nullptr;
};
State state;

bool isBelow(const std::string& path) {
  return !state.folder.empty() && path.rfind(state.folder.string() + "/", 0) == 0;
}

std::string bytesOf(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

/// Counts one write or flush. @return 0, or the fault that it meets.
enum class Meets { Nothing, Full, Error, Off };
Meets meets(bool flush) {
  if (state.off) return Meets::Off;
  if (state.fault == DiskFault::None) return Meets::Nothing;
  ++state.count;
  switch (state.fault) {
    case DiskFault::Full:
      if (flush || state.count < state.at) return Meets::Nothing;
      state.happened = true;
      return Meets::Full;
    case DiskFault::WriteError:
    case DiskFault::SyncError:
      if (state.happened || state.count < state.at ||
          flush != (state.fault == DiskFault::SyncError))
        return Meets::Nothing;
      state.happened = true;
      return Meets::Error;
    case DiskFault::PowerCut:
      if (state.count < state.at) return Meets::Nothing;
      state.happened = state.off = true;
      return Meets::Off;
    case DiskFault::None:
      break;
  }
  return Meets::Nothing;
}

struct File {
  sqlite3_file base;
  sqlite3_file* real;
  std::string* path;
};
File& fileOf(sqlite3_file* file) { return *reinterpret_cast<File*>(file); }

int close(sqlite3_file* f) {
  File& file = fileOf(f);
  const int code = file.real->pMethods->xClose(file.real);
  delete file.path;
  return code;
}

int read(sqlite3_file* f, void* to, int size, sqlite3_int64 at) {
  if (state.off) return SQLITE_IOERR_READ;
  return fileOf(f).real->pMethods->xRead(fileOf(f).real, to, size, at);
}

int write(sqlite3_file* f, const void* from, int size, sqlite3_int64 at) {
  File& file = fileOf(f);
  switch (isBelow(*file.path) ? meets(false) : Meets::Nothing) {
    case Meets::Full:
      return SQLITE_FULL;
    case Meets::Error:
    case Meets::Off:
      return SQLITE_IOERR_WRITE;
    case Meets::Nothing:
      break;
  }
  const auto [entry, added] = state.files.try_emplace(*file.path);
  if (added) entry->second.base = bytesOf(*file.path);
  entry->second.writes.push_back(
      {at, std::string(static_cast<const char*>(from), static_cast<std::size_t>(size))});
  return file.real->pMethods->xWrite(file.real, from, size, at);
}

int truncate(sqlite3_file* f, sqlite3_int64 size) {
  File& file = fileOf(f);
  if (state.off) return SQLITE_IOERR_TRUNCATE;
  const auto [entry, added] = state.files.try_emplace(*file.path);
  if (added) entry->second.base = bytesOf(*file.path);
  entry->second.truncated = true;
  return file.real->pMethods->xTruncate(file.real, size);
}

int sync(sqlite3_file* f, int flags) {
  File& file = fileOf(f);
  if (isBelow(*file.path) && meets(true) != Meets::Nothing) return SQLITE_IOERR_FSYNC;
  const int code = file.real->pMethods->xSync(file.real, flags);
  if (code == SQLITE_OK) state.files.erase(*file.path);
  return code;
}

int fileSize(sqlite3_file* f, sqlite3_int64* size) {
  return fileOf(f).real->pMethods->xFileSize(fileOf(f).real, size);
}
int lock(sqlite3_file* f, int level) {
  return fileOf(f).real->pMethods->xLock(fileOf(f).real, level);
}
int unlock(sqlite3_file* f, int level) {
  return fileOf(f).real->pMethods->xUnlock(fileOf(f).real, level);
}
int checkReserved(sqlite3_file* f, int* out) {
  return fileOf(f).real->pMethods->xCheckReservedLock(fileOf(f).real, out);
}
int control(sqlite3_file* f, int what, void* with) {
  return fileOf(f).real->pMethods->xFileControl(fileOf(f).real, what, with);
}
int sectorSize(sqlite3_file*) { return static_cast<int>(kSector); }
/// No promises beyond POSIX: not that sectors are written whole or in order.
int characteristics(sqlite3_file*) { return 0; }
int shmMap(sqlite3_file* f, int page, int size, int extend, void volatile** to) {
  return fileOf(f).real->pMethods->xShmMap(fileOf(f).real, page, size, extend, to);
}
int shmLock(sqlite3_file* f, int offset, int n, int flags) {
  return fileOf(f).real->pMethods->xShmLock(fileOf(f).real, offset, n, flags);
}
void shmBarrier(sqlite3_file* f) { fileOf(f).real->pMethods->xShmBarrier(fileOf(f).real); }
int shmUnmap(sqlite3_file* f, int remove) {
  return fileOf(f).real->pMethods->xShmUnmap(fileOf(f).real, remove);
}

const sqlite3_io_methods kMethods = {
    2,        close,         read,    write,      truncate,        sync,   fileSize, lock,
    unlock,   checkReserved, control, sectorSize, characteristics, shmMap, shmLock,  shmBarrier,
    shmUnmap, nullptr,       nullptr};

int open(sqlite3_vfs*, const char* name, sqlite3_file* f, int flags, int* out) {
  File& file = *new (f) File{};
  file.real = reinterpret_cast<sqlite3_file*>(&file + 1);
  if (state.off) return SQLITE_CANTOPEN;
  const int code = state.real->xOpen(state.real, name, file.real, flags, out);
  if (code != SQLITE_OK) return code;
  file.path = new std::string(name != nullptr ? name : "");
  file.base.pMethods = &kMethods;
  return SQLITE_OK;
}

int remove(sqlite3_vfs*, const char* name, int sync_folder) {
  if (state.off) return SQLITE_IOERR_DELETE;
  state.files.erase(name);
  return state.real->xDelete(state.real, name, sync_folder);
}

sqlite3_vfs* faultyFileSystem() {
  static sqlite3_vfs faulty;
  if (state.real != nullptr) return &faulty;
  state.real = sqlite3_vfs_find(nullptr);
  faulty = *state.real;
  faulty.zName = "faulty";
  faulty.pNext = nullptr;
  faulty.szOsFile = static_cast<int>(sizeof(File)) + state.real->szOsFile;
  faulty.pAppData = state.real->pAppData;
  faulty.xOpen = open;
  faulty.xDelete = remove;
  return &faulty;
}

void noteDurable(const fs::path& folder) {
  for (const auto& entry : fs::directory_iterator(folder))
    state.durable_names.insert(entry.path().string());
}

/// Of the writes since the last flush some sectors are on the disk, in any order.
void dropUnflushed(const std::string& path, const Unflushed& file) {
  if (!fs::exists(path)) return;
  std::string bytes = file.base;
  for (const Write& write : file.writes)
    for (std::size_t from = 0; from < write.bytes.size(); from += kSector) {
      if (state.random() % 2 == 0) continue;
      const std::string part = write.bytes.substr(from, kSector);
      const std::size_t at = static_cast<std::size_t>(write.at) + from;
      if (bytes.size() < at + part.size()) bytes.resize(at + part.size());
      bytes.replace(at, part.size(), part);
    }
  std::ofstream(path, std::ios::binary | std::ios::trunc) << bytes;
}

}  // namespace

FaultyDisk::FaultyDisk(fs::path folder) {
  sqlite3_vfs* faulty = faultyFileSystem();
  sqlite3_vfs* real = state.real;
  state = State();
  state.real = real;
  state.folder = std::move(folder);
  sqlite3_vfs_register(faulty, 1);
  if (fs::exists(state.folder))
    for (const auto& entry : fs::recursive_directory_iterator(state.folder))
      state.durable_names.insert(entry.path().string());
}

FaultyDisk::~FaultyDisk() {
  sqlite3_vfs_unregister(faultyFileSystem());
  sqlite3_vfs* real = state.real;
  state = State();
  state.real = real;
}

void FaultyDisk::arm(DiskFault fault, long at, unsigned seed) {
  state.fault = fault;
  state.at = at;
  state.count = 0;
  state.happened = state.off = false;
  state.random.seed(seed);
}

bool FaultyDisk::happened() const { return state.happened; }

void FaultyDisk::restart() {
  const bool cut = state.off;
  state.fault = DiskFault::None;
  state.off = false;
  if (!cut) return;
  for (const auto& [path, file] : state.files) {
    dropUnflushed(path, file);
    fs::remove(path + "-shm");
  }
  state.files.clear();
  if (!fs::exists(state.folder / "blobs")) return;
  std::vector<fs::path> names;
  for (const auto& entry : fs::recursive_directory_iterator(state.folder / "blobs"))
    if (entry.is_regular_file()) names.push_back(entry.path());
  for (const fs::path& name : names) {
    struct stat about {};
    if (::stat(name.c_str(), &about) != 0) continue;
    if (state.flushed.count(about.st_ino) == 0 && state.durable_names.count(name.string()) == 0)
      fs::resize_file(name, state.random() % (fs::file_size(name) + 1));
    if (state.durable_names.count(name.string()) == 0 && state.random() % 2 == 0) fs::remove(name);
  }
}

}  // namespace holdshelf::test

// The calls of the blob writer.
namespace {
using namespace holdshelf::test;

std::string pathOf(int fd) {
  char path[4096];
  const ssize_t size =
      ::readlink(("/proc/self/fd/" + std::to_string(fd)).c_str(), path, sizeof path);
  return size > 0 ? std::string(path, static_cast<std::size_t>(size)) : std::string();
}
}  // namespace

extern "C" {
ssize_t __real_write(int fd, const void* bytes, size_t size);
int __real_fsync(int fd);

ssize_t __wrap_write(int fd, const void* bytes, size_t size) {
  const std::string path = holdshelf::test::state.folder.empty() ? "" : pathOf(fd);
  if (!path.empty() && isBelow(path)) switch (meets(false)) {
      case Meets::Full:
        errno = ENOSPC;
        // A full disk takes what still fits.
        if (size > 1) (void)!__real_write(fd, bytes, size / 2);
        return -1;
      case Meets::Error:
      case Meets::Off:
        errno = EIO;
        return -1;
      case Meets::Nothing:
        break;
    }
  return __real_write(fd, bytes, size);
}

int __wrap_fsync(int fd) {
  const std::string path = holdshelf::test::state.folder.empty() ? "" : pathOf(fd);
  if (path.empty() || (!isBelow(path) && path != holdshelf::test::state.folder))
    return __real_fsync(fd);
  if (meets(true) != Meets::Nothing) {
    errno = EIO;
    return -1;
  }
  if (__real_fsync(fd) != 0) return -1;
  struct stat about {};
  if (::fstat(fd, &about) == 0) {
    if (S_ISDIR(about.st_mode))
      noteDurable(path);
    else
      holdshelf::test::state.flushed.insert(about.st_ino);
  }
  return 0;
}
}
