// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_check.h"

#include <algorithm>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "catalog/batch_chain.h"
#include "catalog/blob_store.h"
#include "catalog/database_check.h"
#include "catalog/hold_record.h"
#include "catalog/library_mend.h"
#include "catalog/library_place.h"
#include "mesh/bad_input.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

struct Files {
  StoredBatches batches;
  std::set<std::string> names;
};

Files readFiles(const Blobs& blobs, const Progress& progress, CheckReport& report) {
  Files files;
  const auto names = blobs.names();
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (progress &&
        !progress("checking files", static_cast<double>(i) / static_cast<double>(names.size())))
      throw Interrupted();
    try {
      const std::string bytes = blobs.get(names[i]);
      files.names.insert(names[i]);
      if (auto batch = asBatch(bytes)) files.batches[names[i]] = std::move(*batch);
    } catch (const BadInput& damage) {
      report.add_faults(damage.what());
    }
  }
  report.set_blobs(static_cast<std::int64_t>(names.size()));
  return files;
}

/// Whether a backup was cut off here, and nobody has worked on the old state since.
bool backupWasCutOff(const fs::path& folder, const Library& library) {
  const fs::path marker = folder / kUnfinishedBackup;
  if (!fs::exists(marker)) return false;
  try {
    const std::string last = library.store().lastBatch();
    return readFile(marker) == (last.empty() ? kNoBatch : last);
  } catch (const StoreError&) {
    return false;
  }
}

void checkBlob(const std::string& name, const std::string& what, const Files& files,
               std::set<std::string>& referenced, CheckReport& report) {
  if (name.empty()) return;
  referenced.insert(name);
  if (files.names.count(name) == 0) report.add_faults(what + " is lost: blob " + name + ".");
}

void checkBlobsOf(const Event& event, const Files& files, std::set<std::string>& referenced,
                  CheckReport& report) {
  const auto check = [&](const std::string& name, const char* what) {
    checkBlob(name, event.hold() + "'s " + what, files, referenced, report);
  };
  const Scan& scan = event.scanned();
  const auto& photos = scan.photo_blobs();
  const bool photographed =
      !photos.empty() && std::all_of(photos.begin(), photos.end(), [&](const std::string& name) {
        return files.names.count(name) > 0;
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

/// The events of the batches that count, the files that they name looked for.
std::vector<Event> eventsOf(const std::vector<std::string>& chain, const Files& files,
                            CheckReport& report) {
  std::vector<Event> events;
  std::set<std::string> referenced(chain.begin(), chain.end());
  for (const std::string& name : chain)
    for (const Event& event : files.batches.at(name).events()) {
      events.push_back(event);
      checkBlobsOf(event, files, referenced, report);
    }
  report.set_events(static_cast<std::int64_t>(events.size()));
  report.set_unreferenced_blobs(
      std::count_if(files.names.begin(), files.names.end(),
                    [&](const std::string& name) { return referenced.count(name) == 0; }));
  return events;
}

void sayLostLinks(const Files& files, const std::vector<Event>& events, CheckReport& report) {
  for (const std::string& name : lostLinks(files.batches, events))
    report.add_faults("The batch of events " + name +
                      " is lost or damaged, and others follow on it: --from a backup brings it "
                      "back.");
}

/// The database, if it can be opened at all.
std::optional<Library> openDamaged(const fs::path& folder, CheckReport& report) {
  try {
    return Library::openOrCreate(folder);
  } catch (const NewerLibrary&) {
    throw;
  } catch (const BadInput& damage) {
    report.add_faults(std::string("The database cannot be opened: ") + damage.what());
  }
  return std::nullopt;
}

}  // namespace

CheckReport checkLibrary(const fs::path& folder, bool repair, const Progress& progress,
                         const fs::path& donor) {
  CheckReport report;
  if (repair && !donor.empty()) mendFiles(folder, donor, report);
  if (repair) remakeViewerMeshes(folder, report);
  const bool missing = !Library::isIn(folder);
  if (missing && (!repair || !fs::exists(folder / "blobs"))) (void)Library::open(folder);
  CheckReport database;  // Its faults apart: they are what a database made anew mends.
  std::optional<Library> library;
  if (!missing) library = openDamaged(folder, database);
  const Files files = readFiles(*blobsAt(folder), progress, report);
  std::optional<std::vector<std::string>> cut_off;  // What counts of a backup that was.
  if (library && backupWasCutOff(folder, *library))
    cut_off = listedChain(files.batches, library->store());
  if (repair && !cut_off) fs::remove(folder / kUnfinishedBackup);
  auto chain = cut_off ? *cut_off : chainOf(files.batches, library ? &library->store() : nullptr);
  std::vector<Event> events = eventsOf(chain, files, report);
  if (!cut_off) sayLostLinks(files, events, report);
  if (missing && events.empty())
    throw BadInput("There is nothing in " + folder.string() +
                   " to make a library from: copy its blobs back first.");

  if (missing) database.add_faults("The database is missing.");
  if (library) checkDatabase(*library, chain, events, database);
  const std::vector<Event> beyond = library ? eventsBeyond(*library, events) : std::vector<Event>();
  if (!beyond.empty())
    database.add_faults("A batch of events is lost: " + std::to_string(beyond.size()) +
                        " events are in the database only.");
  report.mutable_faults()->MergeFrom(database.faults());
  report.mutable_remarks()->MergeFrom(database.remarks());
  if (repair && !database.faults().empty()) {
    if (!beyond.empty()) {
      events.insert(events.end(), beyond.begin(), beyond.end());
      chain = {rewriteBatches(folder, events)};
    }
    restoreDatabase(folder, library, chain, events, report);
    report.set_repaired(true);
  }
  try {
    if (library) report.set_holds(library->size());
  } catch (const StoreError&) {  // Damaged: said above.
  }
  return report;
}

}  // namespace holdshelf
