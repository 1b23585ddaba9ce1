// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_mend.h"

#include <algorithm>
#include <map>
#include <set>

#include "catalog/batch_chain.h"
#include "catalog/blob_store.h"
#include "catalog/library_merge.h"
#include "catalog/library_place.h"
#include "catalog/lost_file.h"
#include "catalog/postgres_store.h"
#include "catalog/readable_events.h"
#include "mesh/bad_input.h"
#include "mesh/mesh_io.h"
#include "mesh/unfinished.h"
#include "mesh/unreadable_file.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

constexpr const char* kFileName = "holdshelf.sqlite";

/// What a library has, and what it knows of.
struct Known {
  std::set<std::string> files;      // On the disk, or named by the database or a batch.
  StoredBatches batches;            // On the disk.
  std::vector<std::string> listed;  // By the database, as far as it can be read.
  std::string last_listed;          // Empty: it cannot say.
};

void addBatchesOn(const Blobs& blobs, Known& known) {
  for (const std::string& name : blobs.names()) {
    known.files.insert(name);
    try {
      auto batch = asBatch(blobs.get(name));
      if (!batch) continue;
      if (!batch->previous().empty()) known.files.insert(batch->previous());
      for (const Event& event : batch->events())
        for (const std::string& file : blobsOf(event)) known.files.insert(file);
      known.batches[name] = std::move(*batch);
    } catch (const StoreDamaged&) {  // Wanted as well.
    } catch (const StoreUnavailable&) {
      throw;
    } catch (const BadInput&) {  // Damaged, or nobody can read it: wanted as well.
    }
  }
}

void addDatabaseOf(const fs::path& folder, Known& known) {
  try {
    const Library library = Library::open(folder);
    known.listed = library.store().batches();
    known.last_listed = library.store().lastBatch();
    known.files.insert(known.listed.begin(), known.listed.end());
    forEachReadableEvent(library.store(), [&](const Event& event) {
      for (const std::string& name : blobsOf(event)) known.files.insert(name);
    });
  } catch (const std::exception&) {  // What was read so far is wanted anyway.
  }
}

Known knownIn(const fs::path& folder) {
  Known known;
  addBatchesOn(*blobsAt(folder), known);
  if (Library::isIn(folder)) addDatabaseOf(folder, known);
  return known;
}

/// The batches that the database of a copy lists; nothing of it is changed, not even brought up to
/// date. Without one, or where it cannot be read, none.
std::vector<std::string> batchesListedIn(const fs::path& copy, CheckReport& report) {
  std::vector<std::string> names;
  try {
    if (isDatabaseAddress(copy)) return PostgresStore(copy).batches();
    const fs::path file = copy / kFileName, log = file.string() + "-wal";
    if (!fs::exists(file)) return names;
    // Without a log nobody is writing, and a reader would lay one there, if he may.
    std::error_code none;
    const bool at_rest = !(fs::file_size(log, none) > 0) || none;
    const sqlite::Database database(
        file, at_rest ? sqlite::Database::Access::Frozen : sqlite::Database::Access::ReadOnly);
    sqlite::Statement batch(database, "SELECT blob FROM batch ORDER BY number");
    while (batch.step()) names.push_back(batch.text(0));
  } catch (const StoreError& failure) {
    report.add_remarks("The database of " + copy.string() + " cannot be read (" + failure.what() +
                       "): batches of events that only it knows of were not looked for there.");
    return {};
  }
  return names;
}

/// What a copy lists behind the last batch that it shares with what is here; nothing where it
/// shares none, as a library that this one was merged with.
std::vector<std::string> behindOurs(const std::vector<std::string>& there, const Known& here) {
  const auto isHere = [&](const std::string& name) {
    return here.batches.count(name) > 0 ||
           std::find(here.listed.begin(), here.listed.end(), name) != here.listed.end();
  };
  const auto shared = std::find_if(there.rbegin(), there.rend(), isHere);
  if (shared == there.rend()) return {};
  return {shared.base(), there.end()};
}

/// Whether this library was worked on from a state of the copy that is not its last.
bool hasGoneOn(const std::vector<std::string>& there, const std::string& shared,
               const Known& here) {
  const std::set<std::string> listed(there.begin(), there.end());
  if (!here.last_listed.empty() && listed.count(here.last_listed) == 0) return true;
  for (const auto& [name, batch] : here.batches) {
    const auto before = here.batches.find(batch.previous());
    if (listed.count(name) == 0 && before != here.batches.end() && before->first != shared &&
        listed.count(before->first) == 0 && before->second.previous() == shared)
      return true;  // Two in a row; one may have been cut off.
  }
  return false;
}

/// Adds what the copy alone knows of. Only where the library ends with a state of the copy: else it
/// is another history, which a merge takes in.
/// @return  How many batches were not added for that.
std::size_t addWhatFollowsThere(const std::vector<std::string>& there, Known& here) {
  const std::vector<std::string> behind = behindOurs(there, here);
  if (behind.empty()) return 0;
  const std::string& shared = there[there.size() - behind.size() - 1];
  if (hasGoneOn(there, shared, here)) return behind.size();
  here.files.insert(behind.begin(), behind.end());
  return 0;
}

/// Bytes of a file; nothing where it is lost or damaged.
/// @throws UnreadableFile, StoreUnavailable  That cannot be told now.
std::optional<std::string> bytesStored(const Blobs& blobs, const std::string& name) {
  return unlessLost([&] { return blobs.get(name); });
}

/// The same, and nothing where it cannot be read now: the very bytes, put again, do no harm.
std::optional<std::string> bytesOf(const Blobs& blobs, const std::string& name) {
  try {
    return bytesStored(blobs, name);
  } catch (const UnreadableFile&) {
    return std::nullopt;
  }
}

/// The viewer's mesh as its mesh gives it; nothing where that is lost, damaged or no mesh.
std::optional<std::string> viewerMesh(const Blobs& blobs, const std::string& hold,
                                      const Scan& scan) {
  const auto mesh = bytesOf(blobs, scan.mesh_blob());
  if (!mesh) return std::nullopt;
  try {
    return glbBytes(parseMesh(*mesh, hold + ".ply", {.any_sigma = true}));
  } catch (const BadInput&) {
    return std::nullopt;
  }
}

/// The viewer's mesh is made of the mesh again, where that gives the very file that was lost.
void remakeViewerMesh(Blobs& blobs, const std::string& hold, const Scan& scan,
                      CheckReport& report) {
  if (scan.glb_blob().empty() || scan.mesh_blob().empty() || bytesOf(blobs, scan.glb_blob()))
    return;
  const auto glb = viewerMesh(blobs, hold, scan);
  if (!glb || sha256Hex(*glb) != scan.glb_blob()) return;
  blobs.put(*glb);  // Over the damaged one, which stays until this is there.
  report.add_mended("The viewer mesh of " + hold + " was made again from its mesh.");
}

/// Behind which event each of the batches ends that so many bytes fit into.
/// @throws BadInput  An event has more alone.
std::vector<std::size_t> batchEnds(const std::vector<Event>& events, std::size_t most_bytes) {
  constexpr std::size_t kLink = 2 + 64,
                        kAround = 6;  // The batch before; an event's tag and length.
  std::vector<std::size_t> ends;
  std::size_t sum = kLink;
  for (std::size_t i = 0; i < events.size(); ++i) {
    const std::size_t bytes = events[i].ByteSizeLong() + kAround;
    if (kLink + bytes > most_bytes)
      throw BadInput("An event of " + events[i].hold() + events[i].subject() + " comes to " +
                     std::to_string(bytes >> 20) + " MiB, of which " +
                     std::to_string(most_bytes >> 20) +
                     " fit into a batch that a repair writes, and nothing was changed: bring the "
                     "lost batch back with holdshelf check --repair --from a copy.");
    if (sum + bytes > most_bytes) {
      ends.push_back(i);
      sum = kLink;
    }
    sum += bytes;
  }
  if (!events.empty()) ends.push_back(events.size());
  return ends;
}

/// Puts a database that cannot be mended out of the way; nothing is deleted. With a log
/// beside it that is on the disk: a power cut could bring the log back beside the new database,
/// into which it would be played.
void setAside(const fs::path& folder, CheckReport& report) {
  const fs::path file = folder / kFileName;
  fs::path aside;
  for (int n = 1; aside.empty() || fs::exists(aside); ++n)
    aside = file.string() + ".damaged-" + std::to_string(n);
  const bool there = fs::exists(file);
  const bool log = fs::exists(file.string() + "-wal");
  for (const char* tail : {"", "-wal", "-shm"})
    if (fs::exists(file.string() + tail)) fs::rename(file.string() + tail, aside.string() + tail);
  if (log) syncFolder(folder);
  if (there)
    report.add_mended(
        "The damaged database was set aside as " + aside.filename().string() +
        "; what still has it open stores nothing any more until it is started again.");
}

/// Whether the rows of a database can be cleared without an event being lost that it alone has:
/// where it has such, it is kept aside first.
/// @param whole  Every row must say something; else it is better set aside than cleared.
/// @throws StoreError
bool isReadyToClear(LibraryStore& database, const std::vector<Event>& instead, bool whole,
                    CheckReport& report) {
  std::map<std::int64_t, const Event*> kept;
  for (const Event& event : instead) kept[event.number()] = &event;
  bool others = false;
  const bool all = forEachReadableEvent(database, [&](const Event& event) {
    const auto same = kept.find(event.number());
    others = others || same == kept.end() ||
             same->second->SerializeAsString() != event.SerializeAsString();
  });
  if (!all && whole) return false;
  if (all && !others) return true;
  report.add_mended(
      "The database says otherwise than the stored batches: as it was, it is kept as " +
      database.keepAside() + ".");
  return true;
}

/// false: it is too damaged for that; then nothing was changed.
/// @throws StoreUnavailable  It is not damaged, and cannot be written to now.
/// @param write  Stays open where it is too damaged, so that nobody writes to it.
bool restoreInPlace(Library& library, std::unique_ptr<LibraryStore::Write>& write,
                    const std::vector<std::string>& batches, const std::vector<Event>& events,
                    CheckReport& report) {
  LibraryStore& database = library.store();
  try {
    if (!write) write = database.write();
    const bool in_folder = !isDatabaseAddress(library.folder());  // Others cannot be set aside.
    if (!database.damage().empty() || !isReadyToClear(database, events, in_folder, report))
      return false;
    library.restoreInside(*write, batches, events);
    write->commit();
    return true;
  } catch (const StoreError& failure) {
    if (!failure.isDamage()) refuseWith(failure, library.folder());
    return false;
  }
}

/// Whether the database of the folder is still the one that was looked at.
bool isSame(const Library* library, const RepairTurn& turn) {
  return library != nullptr ? !library->database().hasMoved() : turn.isAsNoted();
}

/// Makes another database and puts it in the place of what is there, once it is whole.
/// @param library  Null: what is there, if anything is, cannot be opened.
void makeBeside(const fs::path& folder, const Library* library,
                const std::vector<std::string>& batches, const std::vector<Event>& events,
                const RepairTurn& turn, CheckReport& report) {
  try {
    const Unfinished part(folder / kFileName, Unfinished::Kind::Folder);
    {
      Library made = Library::openOrCreate(part.path());
      made.restore(batches, events);
      made.checkpoint();
    }
    if (!isSame(library, turn))
      throw BadInput("The database of " + folder.string() +
                     " is another one by now than the one that was found damaged or missing: "
                     "nothing was changed; check it again.");
    setAside(folder, report);
    fs::rename(part.path() / kFileName, folder / kFileName);
    syncFolder(folder);
  } catch (const StoreError& failure) {
    refuseWith(failure, folder);
  } catch (const std::system_error& failure) {
    throw BadInput("The database of " + folder.string() + " cannot be made anew (" +
                   failure.what() +
                   "): check that the disk has room and that you may write there.");
  }
}

}  // namespace

std::set<std::string> mendFiles(const fs::path& folder, const fs::path& donor,
                                CheckReport& report) {
  if (!isDatabaseAddress(donor) && !fs::is_directory(donor / "blobs"))
    throw BadInput("There is no library in " + donor.string() + " to take files from.");
  const auto blobs = blobsAt(folder), theirs = blobsAt(donor);
  const std::vector<std::string> listed_there = batchesListedIn(donor, report);
  std::set<std::string> damaged_there, unread_there;
  std::size_t other_history = 0;
  std::string why_unread;
  for (bool more = true; more;) {
    more = false;
    Known here = knownIn(folder);
    other_history = addWhatFollowsThere(listed_there, here);
    for (const std::string& name : here.files) {
      if (damaged_there.count(name) > 0 || unread_there.count(name) > 0) continue;
      if (bytesOf(*blobs, name) || !theirs->has(name)) continue;
      std::optional<std::string> bytes;
      try {
        bytes = bytesStored(*theirs, name);
      } catch (const UnreadableFile& failure) {
        unread_there.insert(name);
        why_unread = failure.what();
        continue;
      }
      if (bytes) {
        blobs->put(*bytes);  // Over the damaged one, which stays until this is there.
        report.add_mended("File " + name + " came back from " + donor.string() + ".");
        more = true;
      } else {
        damaged_there.insert(name);
        report.add_faults("File " + name + " is damaged in " + donor.string() +
                          ", too: another copy may have it.");
      }
    }
  }
  if (!why_unread.empty())
    throw UnreadableFile("Not all that is lost here could be looked for: " + why_unread);
  if (other_history > 0)
    report.add_remarks("The library in " + donor.string() + " lists " +
                       std::to_string(other_history) +
                       " batches of events that follow on an earlier state of this one and are "
                       "not here: holdshelf merge takes in what this one lacks of them.");
  return {listed_there.begin(), listed_there.end()};
}

void remakeViewerMeshes(const fs::path& folder, CheckReport& report) {
  const auto blobs = blobsAt(folder);
  for (const std::string& name : blobs->names()) {
    const auto bytes = bytesOf(*blobs, name);
    const auto batch = bytes ? asBatch(*bytes) : std::nullopt;
    if (!batch) continue;
    for (const Event& event : batch->events())
      remakeViewerMesh(*blobs, event.hold(), event.scanned(), report);
  }
}

std::vector<std::string> rewriteBatches(const fs::path& folder, const std::vector<Event>& events,
                                        std::size_t most_bytes) {
  const std::vector<std::size_t> ends = batchEnds(events, most_bytes);
  const auto blobs = blobsAt(folder);
  std::vector<std::string> names;
  std::size_t next = 0;
  for (const std::size_t end : ends) {
    Batch batch;
    if (!names.empty()) batch.set_previous(names.back());
    for (; next < end; ++next) *batch.add_events() = events[next];
    names.push_back(blobs->put(batchBytes(batch)));
  }
  return names;
}

std::size_t leaveOutOrphans(std::vector<Event>& events) {
  std::set<std::string> created;
  const auto orphans = std::remove_if(events.begin(), events.end(), [&](const Event& event) {
    if (event.hold().empty()) return false;
    return event.has_created() ? !created.insert(event.hold()).second
                               : created.count(event.hold()) == 0;
  });
  const auto count = static_cast<std::size_t>(events.end() - orphans);
  events.erase(orphans, events.end());
  return count;
}

void restoreDatabase(const fs::path& folder, std::optional<Library>& library,
                     const std::vector<std::string>& batches, const std::vector<Event>& events,
                     const RepairTurn& turn, CheckReport& report,
                     std::unique_ptr<LibraryStore::Write> write) {
  if (library && restoreInPlace(*library, write, batches, events, report)) return;
  if (isDatabaseAddress(folder))
    throw BadInput("The database of " + folder.string() +
                   " is damaged and cannot be made anew in its place: bring it back from its "
                   "backup.");
  makeBeside(folder, library ? &*library : nullptr, batches, events, turn, report);
  write.reset();  // Only now: what was committed to it before it was set aside would be lost.
  library.reset();
  library.emplace(Library::open(folder));
}

}  // namespace holdshelf
