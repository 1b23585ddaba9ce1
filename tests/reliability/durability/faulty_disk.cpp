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
#include <memory>
#include <new>
#include <random>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "tests/catalog/temp_folder.h"

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
  std::string path;  ///< It, or a folder above it, may have been renamed since.
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
  std::map<ino_t, Unflushed> files;  ///< Of SQLite.
  /// What a name stands for on the disk: by the folder that it is in, when that was last flushed.
  std::map<ino_t, std::map<std::string, ino_t>> durable_names;
  std::set<ino_t> databases;             ///< Of SQLite's files those that it knows of.
  std::map<ino_t, std::string> flushed;  ///< Bytes of the other files at their last flush.
  /// Beside the folder. Each file of which anything is known is linked here under its inode's
  /// number, so that it can come back, and no other file gets the number.
  std::unique_ptr<TempFolder> kept;
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

ino_t inodeOf(const fs::path& path) {
  struct stat about {};
  return ::stat(path.c_str(), &about) == 0 ? about.st_ino : 0;
}

bool isDatabase(const fs::path& path) {
  return path.filename().string().find(".sqlite") != std::string::npos;
}

fs::path keptFile(ino_t inode) { return *state.kept / std::to_string(inode); }

void keep(const fs::path& path) {
  std::error_code there;
  fs::create_hard_link(path, keptFile(inodeOf(path)), there);
}

void noteDurable(const fs::path& folder) {
  std::map<std::string, ino_t> names;
  for (const auto& entry : fs::directory_iterator(folder)) {
    names[entry.path().filename().string()] = inodeOf(entry.path());
    if (entry.is_regular_file()) keep(entry.path());
  }
  state.durable_names[inodeOf(folder)] = std::move(names);
}

/// Where the folder is, or will be made.
fs::path aboveFolder() {
  fs::path above = state.folder.parent_path();
  while (!fs::exists(above)) above = above.parent_path();
  return above;
}

/// Counts one write, flush or read. @return  The fault that it meets.
enum class Meets { Nothing, Full, Error, Off };
enum class Step { Write, Flush, Read };
Meets meets(Step step) {
  if (state.off) return Meets::Off;
  if (state.fault == DiskFault::None) return Meets::Nothing;
  if ((step == Step::Read) != (state.fault == DiskFault::ReadError)) return Meets::Nothing;
  ++state.count;
  switch (state.fault) {
    case DiskFault::Full:
      if (step == Step::Flush || state.count < state.at) return Meets::Nothing;
      state.happened = true;
      return Meets::Full;
    case DiskFault::WriteError:
    case DiskFault::SyncError:
    case DiskFault::ReadError:
      if (state.happened || state.count < state.at ||
          (step == Step::Flush) != (state.fault == DiskFault::SyncError))
        return Meets::Nothing;
      state.happened = true;
      return Meets::Error;
    case DiskFault::PowerCut:
      if (state.count < state.at) return Meets::Nothing;
      state.happened = state.off = true;
      return Meets::Off;
    case DiskFault::NoDatabase:
    case DiskFault::None:
      break;
  }
  return Meets::Nothing;
}

struct File {
  sqlite3_file base;
  sqlite3_file* real;
  std::string* path;
  ino_t inode;
  bool folder_flushed;
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
  if (state.fault == DiskFault::NoDatabase && isBelow(*fileOf(f).path)) {
    state.happened = true;
    return SQLITE_IOERR_READ;
  }
  return fileOf(f).real->pMethods->xRead(fileOf(f).real, to, size, at);
}

/// What was done to a file since it was flushed, from now on.
Unflushed& unflushed(const File& file) {
  const auto [entry, added] = state.files.try_emplace(file.inode);
  if (added) entry->second = {*file.path, bytesOf(*file.path), {}, false};
  return entry->second;
}

int write(sqlite3_file* f, const void* from, int size, sqlite3_int64 at) {
  File& file = fileOf(f);
  switch (isBelow(*file.path) ? meets(Step::Write) : Meets::Nothing) {
    case Meets::Full:
      return SQLITE_FULL;
    case Meets::Error:
    case Meets::Off:
      return SQLITE_IOERR_WRITE;
    case Meets::Nothing:
      break;
  }
  unflushed(file).writes.push_back(
      {at, std::string(static_cast<const char*>(from), static_cast<std::size_t>(size))});
  return file.real->pMethods->xWrite(file.real, from, size, at);
}

int truncate(sqlite3_file* f, sqlite3_int64 size) {
  File& file = fileOf(f);
  if (state.off) return SQLITE_IOERR_TRUNCATE;
  unflushed(file).truncated = true;
  return file.real->pMethods->xTruncate(file.real, size);
}

int sync(sqlite3_file* f, int flags) {
  File& file = fileOf(f);
  if (isBelow(*file.path) && meets(Step::Flush) != Meets::Nothing) return SQLITE_IOERR_FSYNC;
  if (!isBelow(*file.path)) return file.real->pMethods->xSync(file.real, flags);
  state.files.erase(file.inode);
  // With the first flush of a log or journal that it opened SQLite flushes the folder.
  const bool log = file.path->ends_with("-wal") || file.path->ends_with("-journal");
  if (log && !std::exchange(file.folder_flushed, true))
    noteDurable(fs::path(*file.path).parent_path());
  return SQLITE_OK;
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
  file.inode = inodeOf(*file.path);
  if (isBelow(*file.path)) keep(*file.path);
  state.databases.insert(file.inode);
  file.base.pMethods = &kMethods;
  return SQLITE_OK;
}

int remove(sqlite3_vfs*, const char* name, int sync_folder) {
  if (state.off) return SQLITE_IOERR_DELETE;
  const int code = state.real->xDelete(state.real, name, sync_folder);
  if (code == SQLITE_OK && sync_folder != 0 && isBelow(name))
    noteDurable(fs::path(name).parent_path());
  return code;
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

std::vector<fs::path> allBelow(const fs::path& folder) {
  std::vector<fs::path> all;
  if (fs::exists(folder))
    for (const auto& entry : fs::recursive_directory_iterator(folder)) all.push_back(entry.path());
  return all;
}

bool byChance() { return state.random() % 2 == 0; }

/// Of the writes since the last flush some sectors are on the disk, in any order.
void dropUnflushed(const fs::path& path, const Unflushed& file) {
  std::string bytes = file.base;
  for (const Write& write : file.writes)
    for (std::size_t from = 0; from < write.bytes.size(); from += kSector) {
      if (byChance()) continue;
      const std::string part = write.bytes.substr(from, kSector);
      const std::size_t at = static_cast<std::size_t>(write.at) + from;
      if (bytes.size() < at + part.size()) bytes.resize(at + part.size());
      bytes.replace(at, part.size(), part);
    }
  std::ofstream(path, std::ios::binary | std::ios::trunc) << bytes;
}

/// The same of any other file: sector by sector as it was flushed or as it is now, of either
/// length. What was never flushed may be of any length.
void dropUnflushed(const fs::path& path) {
  const std::string now = bytesOf(path.string());
  const auto flushed = state.flushed.find(inodeOf(path));
  if (flushed == state.flushed.end())
    return fs::resize_file(path, state.random() % (now.size() + 1));
  const std::string& before = flushed->second;
  if (before == now) return;
  std::string bytes(byChance() ? before.size() : now.size(), '\0');
  for (std::size_t at = 0; at < bytes.size(); at += kSector) {
    const std::string& from = byChance() ? before : now;
    if (at < from.size()) from.copy(&bytes[at], std::min(kSector, bytes.size() - at), at);
  }
  std::ofstream(path, std::ios::binary | std::ios::trunc) << bytes;
}

/// Of every file, under whichever name it is there or may come back.
void settleBytes() {
  std::set<ino_t> settled;
  for (const fs::path& top : {state.folder, state.kept->path()})
    for (const fs::path& path : allBelow(top)) {
      const ino_t inode = inodeOf(path);
      if (!fs::is_regular_file(path) || !settled.insert(inode).second) continue;
      if (const auto file = state.files.find(inode); file != state.files.end())
        dropUnflushed(path, file->second);
      else if (!state.databases.count(inode))
        dropUnflushed(path);
    }
}

/// Of a name that was given, taken away or given to another file since its folder was flushed,
/// either is on the disk. A folder that was taken away does not come back.
void settleNames(const fs::path& folder) {
  std::map<std::string, std::pair<ino_t, ino_t>> names;  // Before and now; 0: not there.
  for (const auto& [name, inode] : state.durable_names[inodeOf(folder)]) names[name].first = inode;
  for (const auto& entry : fs::directory_iterator(folder))
    names[entry.path().filename().string()].second = inodeOf(entry.path());
  for (const auto& [name, is] : names) {
    const auto& [before, now] = is;
    const bool folder_before = before != 0 && !fs::exists(keptFile(before));
    if (before == now || folder_before || byChance()) continue;
    fs::remove_all(folder / name);
    if (before != 0) fs::create_hard_link(keptFile(before), folder / name);
  }
  for (const auto& entry : fs::directory_iterator(folder))
    if (entry.is_directory()) settleNames(entry.path());
}

/// All that is there now is on the disk.
void beginWithAll() {
  state.files.clear();
  state.durable_names.clear();
  state.flushed.clear();
  state.databases.clear();
  state.kept = std::make_unique<TempFolder>(aboveFolder());
  if (!fs::exists(state.folder)) return;
  noteDurable(state.folder);
  for (const fs::path& path : allBelow(state.folder)) {
    if (fs::is_directory(path)) noteDurable(path);
    if (!fs::is_regular_file(path)) continue;
    keep(path);
    if (isDatabase(path))
      state.databases.insert(inodeOf(path));
    else
      state.flushed[inodeOf(path)] = bytesOf(path);
  }
}

void forgetAll() {
  sqlite3_vfs* real = state.real;
  state = State();
  state.real = real;
}

}  // namespace

FaultyDisk::FaultyDisk(fs::path folder) {
  sqlite3_vfs* faulty = faultyFileSystem();
  forgetAll();
  state.folder = std::move(folder);
  sqlite3_vfs_register(faulty, 1);
  beginWithAll();
}

FaultyDisk::~FaultyDisk() {
  sqlite3_vfs_unregister(faultyFileSystem());
  forgetAll();
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
  settleBytes();
  if (fs::exists(state.folder)) settleNames(state.folder);
  for (const fs::path& path : allBelow(state.folder))
    if (path.filename().string().ends_with("-shm")) fs::remove(path);
  beginWithAll();
}

}  // namespace holdshelf::test

// The calls with which files are read and written.
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
ssize_t __real_read(int fd, void* bytes, size_t size);
ssize_t __real___read_chk(int fd, void* bytes, size_t size, size_t room);

/// Of a file on the faulty disk, and it fails.
static bool readFails(int fd) {
  const std::string path = holdshelf::test::state.folder.empty() ? "" : pathOf(fd);
  if (path.empty() || !isBelow(path) || meets(Step::Read) == Meets::Nothing) return false;
  errno = EIO;
  return true;
}

ssize_t __wrap_read(int fd, void* bytes, size_t size) {
  return readFails(fd) ? -1 : __real_read(fd, bytes, size);
}

// The same where the compiler knows how much room there is.
ssize_t __wrap___read_chk(int fd, void* bytes, size_t size, size_t room) {
  return readFails(fd) ? -1 : __real___read_chk(fd, bytes, size, room);
}

ssize_t __wrap_write(int fd, const void* bytes, size_t size) {
  const std::string path = holdshelf::test::state.folder.empty() ? "" : pathOf(fd);
  if (!path.empty() && isBelow(path)) switch (meets(Step::Write)) {
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
  if (meets(Step::Flush) != Meets::Nothing) {
    errno = EIO;
    return -1;
  }
  struct stat about {};
  if (::fstat(fd, &about) != 0) return 0;
  holdshelf::test::state.files.erase(about.st_ino);  // Also what SQLite wrote to it.
  if (S_ISDIR(about.st_mode)) {
    noteDurable(path);
  } else {
    keep(path);
    holdshelf::test::state.flushed[about.st_ino] = bytesOf(path);
  }
  return 0;
}
}
