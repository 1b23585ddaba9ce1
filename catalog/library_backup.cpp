// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_backup.h"

#include <fcntl.h>
#include <sys/file.h>

#include <cerrno>
#include <optional>
#include <set>
#include <system_error>
#include <tuple>

#include "catalog/library_check.h"
#include "catalog/library_merge.h"
#include "mesh/bad_input.h"
#include "mesh/unfinished.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

constexpr const char* kFileName = "holdshelf.sqlite";

void checkSound(const sqlite::Database& database, const std::string& what) {
  sqlite::Statement integrity(database, "PRAGMA integrity_check");
  if (!integrity.step() || integrity.text(0) != "ok")
    throw BadInput(what +
                   " has a damaged database: holdshelf check --repair makes it anew from its "
                   "batches; no backup was touched.");
}

/// The number and the bytes of the last event.
std::pair<std::int64_t, std::string> lastEventOf(const sqlite::Database& database) {
  sqlite::Statement last(database, "SELECT number, body FROM event ORDER BY number DESC LIMIT 1");
  if (!last.step()) return {0, ""};
  return {last.integer(0), std::string(last.blob(1))};
}

/// The last batch that the database of a backup lists, or kNoBatch, as kUnfinishedBackup has it.
std::string lastBatchIn(const fs::path& backup) {
  if (!fs::exists(backup / kFileName)) return kNoBatch;
  const sqlite::Database old(backup / kFileName, sqlite::Database::Access::ReadOnly);
  sqlite::Statement last(old, "SELECT blob FROM batch ORDER BY number DESC LIMIT 1");
  return last.step() ? last.text(0) : kNoBatch;
}

/// @throws BadInput  What is in the backup is not an earlier state of what is to replace it.
void checkFollows(const sqlite::Database& now, const fs::path& backup) {
  if (!fs::exists(backup / kFileName)) return;
  std::int64_t number = 0;
  std::string body;
  try {
    std::tie(number, body) =
        lastEventOf(sqlite::Database(backup / kFileName, sqlite::Database::Access::ReadOnly));
  } catch (const sqlite::Error& damage) {
    throw BadInput("The backup in " + backup.string() + " is damaged (" + damage.what() +
                   "): move its holdshelf.sqlite away, or name another folder.");
  }
  sqlite::Statement same(now, "SELECT body FROM event WHERE number = ?");
  if (number == 0 || (same.bind(1, number).step() && same.blob(0) == body)) return;
  throw BadInput("The library in " + backup.string() +
                 " is no earlier state of this one: name another folder for the backup.");
}

/// Takes away the log beside the backup that is to be replaced (it was copied as files, say, while
/// somebody worked on it): beside the new database it would be played into that, also when a power
/// cut brings it back.
void settleLog(const fs::path& backup) {
  const fs::path file = backup / kFileName, log = file.string() + "-wal";
  std::error_code none;
  if (fs::exists(file) && fs::exists(log)) {
    const sqlite::Database old(file, sqlite::Database::Access::ReadWrite);
    sqlite::Statement checkpoint(old, "PRAGMA wal_checkpoint(TRUNCATE)");
    if (!checkpoint.step() || checkpoint.integer(0) != 0)
      throw BadInput("The backup in " + backup.string() +
                     " is being worked on: end that, or name another folder for the backup.");
  }
  if (fs::file_size(log, none) > 0 && !none)
    throw BadInput("The log " + log.string() +
                   " cannot be emptied: move it away, or name another folder for the backup.");
  for (const char* tail : {"-wal", "-shm"}) fs::remove(file.string() + tail);
  syncFolder(backup);
}

/// All files that a database refers to: its batches, and what its events name.
std::set<std::string> filesOf(const sqlite::Database& database) {
  std::set<std::string> names;
  sqlite::Statement batches(database, "SELECT blob FROM batch");
  while (batches.step()) names.insert(batches.text(0));
  sqlite::Statement events(database, "SELECT body FROM event");
  while (events.step()) {
    Event event;
    const std::string_view bytes = events.blob(0);
    if (!event.ParseFromArray(bytes.data(), static_cast<int>(bytes.size())))
      throw BadInput("An event in the library is damaged: run holdshelf check --repair.");
    for (std::string& name : blobsOf(event)) names.insert(std::move(name));
  }
  return names;
}

/// Nothing where the library has lost it, or it is damaged: the look over all of it in the end
/// names what is lacking.
std::optional<std::string> whatIsLeft(const Blobs& from, const std::string& name) {
  try {
    return from.get(name);
  } catch (const BadInput&) {
    return std::nullopt;
  }
}

void copyFiles(const sqlite::Database& database, const Blobs& from, BlobStore to,
               const Progress& progress, BackupReport& report) {
  const std::set<std::string> names = filesOf(database);
  std::set<fs::path> flushed;
  std::size_t at = 0;
  for (const std::string& name : names) {
    if (progress &&
        !progress("copying files", static_cast<double>(at++) / static_cast<double>(names.size())))
      throw Interrupted();
    report.set_files(report.files() + 1);
    if (to.has(name)) {  // Whoever put it may have ended before its name was on the disk.
      const fs::path shelf = to.file(name).parent_path();
      if (flushed.insert(shelf).second) syncFolder(shelf);
      continue;
    }
    const auto bytes = whatIsLeft(from, name);
    if (!bytes) continue;
    to.put(*bytes);
    report.set_files_added(report.files_added() + 1);
  }
}

/// Everything is read again: what was written, and what was there.
void verify(const fs::path& folder, const Progress& progress, BackupReport& report) {
  const CheckReport check = checkLibrary(folder, false, progress);
  report.clear_faults();
  for (const std::string& fault : check.faults()) report.add_faults(fault);
  report.set_folder(folder.string());
  report.set_holds(check.holds());
  report.set_events(check.events());
}

/// Files that were damaged in the backup since they were taken come anew from the library.
/// @return  Whether any did.
bool mendDamaged(const fs::path& backup, const Blobs& from, BackupReport& report) {
  const sqlite::Database database(backup / kFileName, sqlite::Database::Access::ReadOnly);
  BlobStore to(backup / "blobs");
  bool any = false;
  for (const std::string& name : filesOf(database)) {
    if (!to.has(name) || whatIsLeft(to, name)) continue;
    const auto bytes = whatIsLeft(from, name);
    if (!bytes) continue;
    to.put(*bytes);
    report.set_files_added(report.files_added() + 1);
    any = true;
  }
  return any;
}

void makeFolder(const fs::path& folder) {
  try {
    makeFolderDurably(folder);
  } catch (const std::system_error&) {
    throw BadInput(folder.string() + " cannot be made: choose a folder that you may write to.");
  }
}

[[noreturn]] void explain(const std::exception& failure, const fs::path& to) {
  throw BadInput("The backup could not be written to " + to.string() + " (" + failure.what() +
                 "): check that the disk has room; what was there before is as it was.");
}

/// As long as it is open, nobody else backs up there: of two at once the older one could end last.
/// Where there are no locks, the last look before the end has to do.
/// @throws BadInput  Somebody does.
OpenFile lockBackup(const fs::path& folder) {
  try {
    OpenFile lock(folder, O_RDONLY | O_DIRECTORY);
    if (::flock(lock.get(), LOCK_EX | LOCK_NB) == 0 || errno != EWOULDBLOCK) return lock;
  } catch (const std::system_error& failure) {
    explain(failure, folder);
  }
  throw BadInput("Another backup is being written to " + folder.string() +
                 ": run this one again when that has ended, or name another folder.");
}

/// The database has taken the old one's place; has the disk take that too.
void keepNew(const fs::path& backup) {
  try {
    syncFolder(backup);
  } catch (const std::system_error& failure) {
    throw BadInput("The backup in " + backup.string() + " is whole, but not sure to stay (" +
                   failure.what() + "): a power cut may bring the old one back; back up again.");
  }
  try {
    fs::remove(backup / kUnfinishedBackup);
    syncFolder(backup);
  } catch (const std::system_error&) {  // It counts for the old database only.
  }
}

}  // namespace

BackupReport backupLibrary(const Library& library, const fs::path& to, const Progress& progress) {
  std::error_code ignored;
  if (fs::equivalent(library.folder(), to, ignored))
    throw BadInput(to.string() + " is the library itself: name another folder for the backup.");
  makeFolder(to);
  const OpenFile lock = lockBackup(to);
  sweepUnfinished(to, kUnfinishedBackup);
  BackupReport report;
  try {
    // In a folder of its own, with the log that SQLite may lay beside it.
    const Unfinished part(to / kFileName, Unfinished::Kind::Folder);
    const fs::path made = part.path() / kFileName;
    const Progress alive = [&](const std::string& stage, double done) {
      part.touch();
      return !progress || progress(stage, done);
    };
    library.database().backUp(made);
    {
      const sqlite::Database snapshot(made, sqlite::Database::Access::ReadOnly);
      checkSound(snapshot, "The library " + library.folder().string());
      checkFollows(snapshot, to);
      // While it is there, batches that the old database does not list are no damage.
      writeFileDurably(to / kUnfinishedBackup, lastBatchIn(to));
      copyFiles(snapshot, library.blobs(), BlobStore(to / "blobs"), alive, report);
      checkFollows(snapshot, to);  // It may have been worked on while the files were copied.
    }
    settleLog(to);
    if (!alive("taking its place", 1)) throw Interrupted();
    fs::rename(made, to / kFileName);
  } catch (const sqlite::Error& failure) {
    explain(failure, to);
  } catch (const std::system_error& failure) {
    explain(failure, to);
  }
  keepNew(to);
  verify(to, progress, report);
  if (!report.faults().empty() && mendDamaged(to, library.blobs(), report))
    verify(to, progress, report);
  return report;
}

BackupReport restoreBackup(const fs::path& from, const fs::path& to, const Progress& progress) {
  if (!fs::exists(from / kFileName))
    throw BadInput("There is no backup in " + from.string() + ": name the folder that one is in.");
  std::error_code error;
  if (fs::exists(from / (std::string(kFileName) + "-wal")) &&
      fs::file_size(from / (std::string(kFileName) + "-wal"), error) > 0)
    throw BadInput(from.string() +
                   " is a library that is being worked on: holdshelf copy copies such a one.");
  if (fs::exists(to) && !fs::is_empty(to, error))
    throw BadInput("There is something in " + to.string() +
                   " already: move it away first, or name another folder with --library.");
  fs::path target = fs::absolute(to).lexically_normal();
  if (target.filename().empty()) target = target.parent_path();
  BackupReport report;
  try {
    Unfinished part(target, Unfinished::Kind::Folder);
    writeFileDurably(part.path() / kFileName, readFile(from / kFileName));
    {
      const Library made = Library::open(part.path());
      checkSound(made.database(), "The backup " + from.string());
      copyFiles(made.database(), BlobStore(from / "blobs"), BlobStore(part.path() / "blobs"),
                progress, report);
    }
    verify(part.path(), progress, report);
    fs::remove(target, error);  // An empty folder.
    part.takePlaceDurably();
  } catch (const std::system_error& failure) {
    throw BadInput("The backup could not be restored to " + to.string() + " (" + failure.what() +
                   "): check that the disk has room and that you may write there.");
  }
  report.set_folder(to.string());
  return report;
}

}  // namespace holdshelf
