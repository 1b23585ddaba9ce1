// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <filesystem>

namespace holdshelf::test {

/// What goes wrong with the disk, and when.
enum class DiskFault {
  None,
  Full,        ///< Nothing more can be written; what was stays readable.
  WriteError,  ///< One write fails, later ones work.
  SyncError,   ///< One flush fails, later ones work.
  ReadError,   ///< One read of a file fails, later ones work. Only reads are counted.
  NoDatabase,  ///< Every read of a database fails.
  PowerCut     ///< Everything stops. Of what was not flushed, any part may be lost.
};

/// A disk under the library that counts writes and flushes and goes wrong at a chosen one: a SQLite
/// file system laid over the default one, and the calls with which files are written (link with
/// -Wl,--wrap=write,--wrap=fsync,--wrap=read,--wrap=__read_chk). One at a time; faults are seen by
/// the whole process.
///
/// A power cut follows what POSIX promises: bytes written since a file's last flush, sector by
/// sector, may be on the disk or not; so may a name that was given, taken away or given to another
/// file since its folder was flushed, which may stand for what it stood for then; and a file that
/// was never flushed may be of any length. Names of folders are names as well, and with one goes
/// what is in it; a folder that was taken away stays away. What is flushed is only noted: no test
/// has to wait for the true disk.
class FaultyDisk {
 public:
  /// @param folder  Only files below it are counted and harmed.
  explicit FaultyDisk(std::filesystem::path folder);
  ~FaultyDisk();
  FaultyDisk(const FaultyDisk&) = delete;
  FaultyDisk& operator=(const FaultyDisk&) = delete;

  /// From now on; the first write or flush counts as 1.
  void arm(DiskFault fault, long at, unsigned seed);
  /// Whether the fault has happened.
  bool happened() const;
  /// The machine is started again: after a power cut, drops what was not flushed. Call it when no
  /// library is open.
  void restart();
};

}  // namespace holdshelf::test
