// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_check.h"

#include <algorithm>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "catalog/batch_chain.h"
#include "catalog/blob_store.h"
#include "catalog/database_check.h"
#include "catalog/foreign_event.h"
#include "catalog/hold_record.h"
#include "catalog/library_mend.h"
#include "catalog/library_merge.h"
#include "catalog/postgres_store.h"
#include "catalog/readable_events.h"
#include "catalog/shown_text.h"
#include "mesh/bad_input.h"
#include "mesh/unreadable_file.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

/// The files of a library as they were found, each read and held against its name.
class Files {
 public:
  /// @param listed_elsewhere  Batches that a copy of the library lists.
  Files(const Blobs& blobs, const Progress& progress, std::set<std::string> listed_elsewhere)
      : blobs_(blobs), listed_elsewhere_(std::move(listed_elsewhere)) {
    const auto names = blobs.names();
    for (std::size_t i = 0; i < names.size(); ++i) {
      if (progress &&
          !progress("checking files", static_cast<double>(i) / static_cast<double>(names.size())))
        throw Interrupted();
      read(names[i]);
    }
  }

  const StoredBatches& batches() const { return batches_; }
  const std::set<std::string>& listedElsewhere() const { return listed_elsewhere_; }
  const std::set<std::string>& sound() const { return sound_; }
  const std::vector<std::string>& faults() const { return faults_; }
  /// Those that cannot be read now, so that nobody knows what they hold, and why.
  const std::map<std::string, std::string>& unread() const { return unread_; }
  /// Reads those that have come since they were listed.
  void readNew() {
    for (const std::string& name : blobs_.names()) isSoundNow(name);
  }
  std::int64_t found() const {
    return static_cast<std::int64_t>(sound_.size() + damaged_.size() + unread_.size());
  }
  bool isSound(const std::string& name) const { return sound_.count(name) > 0; }
  /// The same of one that may have been put since they were listed.
  bool isSoundNow(const std::string& name) {
    const bool known = isSound(name) || damaged_.count(name) > 0 || unread_.count(name) > 0;
    if (!known && blobs_.has(name)) read(name);
    return isSound(name);
  }

 private:
  void read(const std::string& name) {
    try {
      const std::string bytes = blobs_.get(name);
      if (auto batch = asBatch(bytes)) batches_[name] = std::move(*batch);
      sound_.insert(name);
    } catch (const UnreadableFile& failure) {
      unread_[name] = failure.what();
    } catch (const StoreDamaged& damage) {
      addDamaged(name, damage);
    } catch (const StoreUnavailable&) {
      throw;  // Of every other file the database would say the same.
    } catch (const BadInput& damage) {
      addDamaged(name, damage);
    }
  }
  void addDamaged(const std::string& name, const BadInput& damage) {
    damaged_.insert(name);
    faults_.emplace_back(damage.what());
  }

  const Blobs& blobs_;
  std::set<std::string> listed_elsewhere_;
  StoredBatches batches_;
  std::set<std::string> sound_, damaged_;
  std::map<std::string, std::string> unread_;
  std::vector<std::string> faults_;
};

/// Whether a backup was cut off here, and nobody has worked on the old state since.
/// @throws StoreError  The database, which alone can tell, fails without being damaged.
bool backupWasCutOff(const fs::path& folder, const Library& library) {
  const fs::path marker = folder / kUnfinishedBackup;
  if (!fs::exists(marker)) return false;
  try {
    const std::string last = library.store().lastBatch();
    return readFile(marker) == (last.empty() ? kNoBatch : last);
  } catch (const StoreError& failure) {
    if (!failure.isDamage()) throw;
    return false;
  }
}

/// Takes the mark of a backup that was cut off away once it counts no more, so that it hides
/// nothing later. Only while nobody writes, and where the database says so.
void dropOldMark(const fs::path& folder, const Library& library) {
  if (!fs::exists(folder / kUnfinishedBackup)) return;
  try {
    const auto write = library.store().write();
    if (!backupWasCutOff(folder, library)) fs::remove(folder / kUnfinishedBackup);
  } catch (const StoreError&) {  // Until it says so, the mark stays.
  }
}

/// What a look through the library found as of one moment.
struct Look {
  CheckReport report;    // Of the history, and of files that it names.
  CheckReport database;  // Apart: what a database made anew mends.
  std::vector<std::string> chain;
  std::vector<Event> events;  // Of the chain.
  std::vector<Event> beyond;  // That the database alone has.
  std::string unread;  // Why a file cannot be read now that may be a batch; empty: there is none.
};

/// Reads the batches that were committed since the files were listed.
void readNewlyListed(const Library& library, Files& files) {
  try {
    for (const std::string& name : library.store().batches()) files.isSoundNow(name);
  } catch (const StoreError& failure) {
    if (!failure.isDamage()) throw;
  }
}

void checkBlob(const std::string& name, const std::string& what, Files& files,
               std::set<std::string>& referenced, CheckReport& report) {
  if (name.empty()) return;
  referenced.insert(name);
  if (files.isSoundNow(name)) return;
  const bool unread = files.unread().count(name) > 0;
  report.add_faults(what + (unread ? " cannot be read now: blob " : " is lost: blob ") + name +
                    ".");
}

void checkBlobsOf(const Event& event, Files& files, std::set<std::string>& referenced,
                  CheckReport& report) {
  const auto check = [&](const std::string& name, const char* what) {
    checkBlob(name, event.hold() + "'s " + what, files, referenced, report);
  };
  const Scan& scan = event.scanned();
  const auto& photos = scan.photo_blobs();
  const bool photographed =
      !photos.empty() && std::all_of(photos.begin(), photos.end(), [&](const std::string& name) {
        return files.isSoundNow(name);
      });
  check(scan.mesh_blob(), photographed ? "mesh (its photos are whole: holdshelf intake "
                                         "--new-scan-of makes it anew)"
                                       : "mesh");
  check(scan.glb_blob(), "viewer mesh");
  check(scan.thumbnail_blob(), "thumbnail");
  check(scan.contact_sheet_blob(), "contact sheet");
  for (const std::string& photo : scan.photo_blobs()) check(photo, "photo");
  check(event.photographed(), "photo");
}

/// A remark and no fault: nothing mends what was once said, and all else can go on beside it.
void sayUntruthIn(const Event& event, CheckReport& report) {
  const std::string untruth = untruthIn(event);
  if (untruth.empty()) return;
  report.add_remarks("Event " + std::to_string(event.number()) + " says of " +
                     shownStart(subjectOf(event), 60) + " what cannot be so: " + untruth +
                     (event.has_scanned()
                          ? "; a new scan (holdshelf intake --new-scan-of) takes its place."
                          : "."));
}

/// The events of the batches that count, the files that they name looked for.
std::vector<Event> eventsOf(const std::vector<std::string>& chain, Files& files,
                            CheckReport& report) {
  std::vector<Event> events;
  std::set<std::string> referenced(chain.begin(), chain.end());
  for (const std::string& name : chain)
    for (const Event& event : files.batches().at(name).events()) {
      events.push_back(event);
      checkBlobsOf(event, files, referenced, report);
      sayUntruthIn(event, report);
    }
  report.set_blobs(files.found());
  report.set_events(static_cast<std::int64_t>(events.size()));
  report.set_unreferenced_blobs(
      std::count_if(files.sound().begin(), files.sound().end(),
                    [&](const std::string& name) { return referenced.count(name) == 0; }));
  return events;
}

/// Why a file cannot be read now that may be a batch, as no event names it; empty: there is none.
std::string unreadBatch(const Files& files, Library* library) {
  if (files.unread().empty()) return "";
  std::set<std::string> named;
  const auto note = [&](const Event& event) {
    for (const std::string& name : blobsOf(event)) named.insert(name);
  };
  for (const auto& [name, batch] : files.batches())
    for (const Event& event : batch.events()) note(event);
  if (library != nullptr) forEachReadableEvent(library->store(), note);
  for (const auto& [name, why] : files.unread())
    if (named.count(name) == 0) return why;
  return "";
}

void sayLostLinks(const StoredBatches& batches, Look& look) {
  for (const std::string& name : lostLinks(batches, look.events))
    look.report.add_faults("The batch of events " + name +
                           " is lost or damaged, and others follow on it: --from a backup brings "
                           "it back.");
}

/// What the database alone has is part of the library, too: a repair that was cut off may have
/// written it down beside the chain.
void saySideBranches(const Files& files, Look& look) {
  std::vector<Event> known = look.events;
  known.insert(known.end(), look.beyond.begin(), look.beyond.end());
  for (const SideBranch& branch :
       sideBranches(files.batches(), look.chain, known, files.listedElsewhere()))
    look.report.add_faults(
        std::to_string(branch.events) + " events in " + std::to_string(branch.batches) +
        " batches, from " + branch.first +
        " on, were stored and are no part of the library, which was worked on from an earlier "
        "state: to bring them back, copy its files (blobs/) to another folder" +
        (branch.instead.empty() ? "" : " without " + branch.instead) +
        ", run holdshelf check --repair on that one, and holdshelf merge it into this one.");
}

/// Whether the database knows how the chain ends.
bool knowsItsEnd(Library* library, const std::vector<Event>& events) {
  try {
    return library != nullptr && !events.empty() && library->lastEvent() >= events.back().number();
  } catch (const StoreError&) {
    return false;
  }
}

void sayRivals(const Files& files, Library* library, Look& look) {
  if (look.chain.empty() || knowsItsEnd(library, look.events)) return;
  const bool listed = files.listedElsewhere().count(look.chain.back()) > 0;
  for (const std::string& name : rivalsOf(files.batches(), look.chain))
    look.report.add_faults("It cannot be told which batch of events was the last to be stored, " +
                           look.chain.back() + " or " + name + ": the first was taken, " +
                           (listed ? "which the copy lists" : "whose events are the later ones") +
                           "; the other stays among the files.");
}

/// Looks at what is stored, with the database as it is now; null: there is none to look at.
/// @throws StoreError  The database fails without being damaged.
Look lookAt(const fs::path& folder, Library* library, Files& files) {
  Look look;
  if (library != nullptr) readNewlyListed(*library, files);
  const StoredBatches& batches = files.batches();
  LibraryStore* const database = library != nullptr ? &library->store() : nullptr;
  std::optional<std::vector<std::string>> old;  // What counts where a backup was cut off.
  if (library != nullptr && backupWasCutOff(folder, *library))
    old = listedChain(batches, *database);
  look.chain = old ? *old : chainOf(batches, database, files.listedElsewhere());
  look.events = eventsOf(look.chain, files, look.report);
  look.unread = unreadBatch(files, library);
  if (!look.unread.empty()) {  // What is missing beside it, and what is wrong, nobody can say.
    look.database.add_faults(
        "A file that cannot be read may be a batch of events: only once it can be is the history "
        "looked at, and the database held against it.");
    return look;
  }
  if (library != nullptr) look.beyond = eventsBeyond(*library, look.events);
  if (!old) {
    sayLostLinks(batches, look);
    saySideBranches(files, look);
    sayRivals(files, library, look);
  }
  if (library == nullptr) return look;
  checkDatabase(*library, look.chain, look.events, look.database);
  if (!look.beyond.empty())
    look.database.add_faults("A batch of events is lost: " + std::to_string(look.beyond.size()) +
                             " events are in the database only.");
  return look;
}

/// Null: there is no database, or it is too damaged.
std::unique_ptr<LibraryStore::Moment> momentOf(Library* library) {
  try {
    return library != nullptr ? library->store().moment() : nullptr;
  } catch (const StoreError& failure) {
    if (!failure.isDamage()) throw;
    return nullptr;
  }
}

/// Looks while others write; where the database cannot be read now, at the files alone.
Look lookBesideOthers(const fs::path& folder, Library* library, Files& files) {
  try {
    const auto moment = momentOf(library);
    return lookAt(folder, library, files);
  } catch (const StoreError& failure) {
    Look look = lookAt(folder, nullptr, files);
    look.database.add_faults(std::string("The database cannot be read: ") + failure.what() + ".");
    return look;
  }
}

/// Looks again, with nobody who writes until the database has been made anew; null: it is too
/// damaged to be locked.
std::unique_ptr<LibraryStore::Write> lookAlone(const fs::path& folder, Library* library,
                                               Files& files, Look& look) {
  std::unique_ptr<LibraryStore::Write> write;
  try {
    if (library != nullptr) write = library->store().write();
    if (auto* shared =
            library != nullptr ? dynamic_cast<PostgresStore*>(&library->store()) : nullptr)
      shared->takeLong();
  } catch (const StoreError& failure) {
    if (!failure.isDamage()) refuseWith(failure, folder);
  }
  files.readNew();  // The database may list them where it cannot be read.
  try {
    look = lookAt(folder, library, files);
  } catch (const StoreError& failure) {
    refuseWith(failure, folder);
  }
  return write;
}

/// The database, if it can be opened at all.
std::optional<Library> openDamaged(const fs::path& folder, bool repair, CheckReport& report) {
  try {
    return Library::openOrCreate(folder);
  } catch (const NewerLibrary&) {
    throw;
  } catch (const StoreUnavailable& failure) {
    const bool damaged = dynamic_cast<const StoreDamaged*>(&failure) != nullptr;
    if (repair && !damaged) throw;  // Only what is damaged is made anew.
    report.add_faults(std::string("The database cannot be opened: ") + failure.what());
  } catch (const BadInput& damage) {
    report.add_faults(std::string("The database cannot be opened: ") + damage.what());
  }
  return std::nullopt;
}

/// Makes the database anew of what the look found.
void repairDatabase(const fs::path& folder, std::optional<Library>& library, Look& look,
                    const RepairTurn& turn, std::unique_ptr<LibraryStore::Write> write) {
  if (!look.beyond.empty()) {
    look.events.insert(look.events.end(), look.beyond.begin(), look.beyond.end());
    if (const std::size_t orphans = leaveOutOrphans(look.events))
      look.report.add_faults(std::to_string(orphans) +
                             " events are of holds whose first events are lost: they stay in the "
                             "database that was kept, and in no other.");
    look.chain = rewriteBatches(folder, look.events);
  }
  restoreDatabase(folder, library, look.chain, look.events, turn, look.report, std::move(write));
}

}  // namespace

CheckReport checkLibrary(const fs::path& folder, bool repair, const Progress& progress,
                         const fs::path& donor) {
  CheckReport report;
  std::optional<RepairTurn> turn;
  if (repair) turn.emplace(folder);
  const bool missing = !Library::isIn(folder);
  if (missing && (!repair || !fs::exists(folder / "blobs"))) (void)Library::open(folder);
  CheckReport opening;
  if (missing) opening.add_faults("The database is missing.");
  std::optional<Library> library;
  if (!missing) library = openDamaged(folder, repair, opening);
  if (turn && !missing) turn->noteDatabase();  // That it was opened may have changed it.
  Library* const opened = library ? &*library : nullptr;
  std::set<std::string> listed_there;
  if (repair && !donor.empty()) listed_there = mendFiles(folder, donor, report);
  if (repair) remakeViewerMeshes(folder, report);
  const auto blobs = blobsAt(folder);
  Files files(*blobs, progress, std::move(listed_there));
  Look look = lookBesideOthers(folder, opened, files);
  if (missing && look.events.empty() && look.unread.empty())
    throw BadInput("There is nothing in " + folder.string() +
                   " to make a library from: copy its blobs back first.");
  const auto isAtFault = [&] {
    return !opening.faults().empty() || !look.database.faults().empty();
  };
  if (repair && isAtFault()) {
    auto write = lookAlone(folder, opened, files, look);
    if (!look.unread.empty())
      throw UnreadableFile(
          "The database is not made anew while a file may hold events that nobody "
          "can read: " +
          look.unread);
    const bool still = isAtFault();  // Somebody else may have mended it.
    if (still) repairDatabase(folder, library, look, *turn, std::move(write));
    report.set_repaired(still);
  }
  if (repair && library) dropOldMark(folder, *library);
  for (const std::string& fault : files.faults()) report.add_faults(fault);
  for (const auto& [name, why] : files.unread()) report.add_faults(why);
  report.MergeFrom(opening);
  report.MergeFrom(look.report);
  report.mutable_faults()->MergeFrom(look.database.faults());
  report.mutable_remarks()->MergeFrom(look.database.remarks());
  try {
    if (library) report.set_holds(library->size());
  } catch (const StoreError&) {  // Damaged: said above.
  }
  return report;
}

}  // namespace holdshelf
