// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_check.h"

#include <google/protobuf/util/message_differencer.h>

#include <algorithm>
#include <map>
#include <optional>
#include <set>

#include "catalog/hold_record.h"
#include "catalog/library_merge.h"
#include "catalog/library_place.h"
#include "catalog/search_row.h"
#include "mesh/bad_input.h"
#include "mesh/mesh_io.h"

namespace fs = std::filesystem;
using google::protobuf::util::MessageDifferencer;

namespace holdshelf {
namespace {

/// The batch in a blob, or nullopt when the blob is something else. A mesh or picture does not
/// parse; what parses by chance has no numbered events.
std::optional<Batch> asBatch(const std::string& bytes) {
  // Only its two fields' tags can begin a batch; no mesh, picture or JSON begins with either.
  if (bytes.empty() || (bytes.front() != '\x0a' && bytes.front() != '\x12')) return std::nullopt;
  if (bytes.front() == '\x0a' &&  // The name of the batch before: 64 hexadecimal digits.
      (bytes.size() < 66 || bytes[1] != 64 ||
       bytes.substr(2, 64).find_first_not_of("0123456789abcdef") != std::string::npos))
    return std::nullopt;
  Batch batch;
  if (!batch.ParseFromString(bytes) || batch.events().empty()) return std::nullopt;
  for (const Event& event : batch.events())
    if (event.number() <= 0 || subjectOf(event).empty() || event.at().empty()) return std::nullopt;
  return batch;
}

struct Files {
  std::map<std::string, Batch> batches;  // By name.
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

using Successors = std::map<std::string, std::vector<std::string>>;

/// The chain of batches with most events that begins after a batch ("": with a first one).
std::vector<std::string> longestChain(const std::map<std::string, Batch>& batches,
                                      const Successors& next, const std::string& after) {
  std::vector<std::string> best;
  int most = 0;
  std::vector<std::pair<std::vector<std::string>, int>> open = {{{}, 0}};
  while (!open.empty()) {
    const auto [chain, events] = std::move(open.back());
    open.pop_back();
    if (events > most) {
      best = chain;
      most = events;
    }
    const auto following = next.find(chain.empty() ? after : chain.back());
    if (following == next.end()) continue;
    for (const std::string& name : following->second) {
      open.emplace_back(chain, events + batches.at(name).events_size());
      open.back().first.push_back(name);
    }
  }
  return best;
}

/// The batches that the database lists; nullopt where one of them is not stored or not linked.
std::optional<std::vector<std::string>> listedChain(const std::map<std::string, Batch>& batches,
                                                    const Library& library) {
  std::vector<std::string> chain;
  try {
    for (const std::string& name : library.store().batches()) {
      const auto batch = batches.find(name);
      if (batch == batches.end() || batch->second.previous() != (chain.empty() ? "" : chain.back()))
        return std::nullopt;
      chain.push_back(batch->first);
    }
  } catch (const StoreError&) {
    return std::nullopt;
  }
  return chain;
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

/// The batches that count. A commit that was cut off leaves one batch after the last that the
/// database lists, or several beside each other, and none of them has a successor: they are left
/// out. Two in a row the database has lost.
std::vector<std::string> chainOf(const std::map<std::string, Batch>& batches,
                                 const std::optional<Library>& library) {
  Successors next;
  for (const auto& [name, batch] : batches) next[batch.previous()].push_back(name);
  auto chain = library ? listedChain(batches, *library) : std::nullopt;
  if (!chain) return longestChain(batches, next, "");
  const auto beyond = longestChain(batches, next, chain->empty() ? "" : chain->back());
  if (beyond.size() > 1) chain->insert(chain->end(), beyond.begin(), beyond.end());
  return *chain;
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

/// Events of the database by hold; a fault when they are not exactly those of the chain.
std::map<std::string, std::vector<Event>> checkEvents(const Library& library,
                                                      const std::vector<Event>& chain,
                                                      CheckReport& report) {
  std::size_t at = 0;
  bool same = true;
  std::map<std::string, std::vector<Event>> by_hold;
  library.forEachEvent([&](const Event& event) {
    same = same && at < chain.size() && MessageDifferencer::Equals(event, chain[at]);
    ++at;
    if (!event.hold().empty()) by_hold[event.hold()].push_back(event);
  });
  if (!same || at != chain.size())
    report.add_faults("The events in the database are not those of the stored batches.");
  return by_hold;
}

/// Whether a row's columns are those that its hold gives.
bool rowFits(const HoldRow& row, const Hold& hold) {
  const Scan* scan = currentScan(hold);
  const Shape none;
  const Shape& shape = scan != nullptr ? scan->shape() : none;
  return row.status == hold.status() && row.name == hold.name() && row.bin == hold.bin() &&
         row.set == hold.set() && row.colour == hold.colour().name() &&
         row.site == standsAt(hold) &&
         row.protrusion_mm.value_or(0) == shape.protrusion_mm().value() &&
         row.width_mm.value_or(0) == shape.footprint_width_mm().value() &&
         row.height_mm.value_or(0) == shape.footprint_height_mm().value() &&
         row.volume_mm3.value_or(0) == shape.volume_mm3().value() &&
         row.search == packSearchRow(hold);
}

void checkRows(const Library& library, const std::map<std::string, Hold>& folded,
               CheckReport& report) {
  library.store().forEachHold(LibraryStore::HoldPart::Search, [&](const HoldRow& row) {
    const auto hold = folded.find(std::string(row.id));
    if (hold != folded.end() && !rowFits(row, hold->second))
      report.add_faults("What search knows of " + hold->first + " is not what its events say.");
  });
}

/// Columns of the events beside their messages, and the list of batches.
void checkColumns(const Library& library, const std::vector<std::string>& chain,
                  CheckReport& report) {
  library.store().forEachEvent([&](const EventRow& row) {
    Event event;
    if (event.ParseFromArray(row.body.data(), static_cast<int>(row.body.size())) &&
        (row.number != event.number() || row.subject != subjectOf(event) || row.at != event.at() ||
         row.who != event.who()))
      report.add_faults("Event " + std::to_string(event.number()) +
                        " is filed under what it does not say.");
  });
  if (library.store().batches() != chain)
    report.add_faults("The batches in the database are not those that are stored.");
}

/// Faults of the database itself, measured against the events of the chain.
void checkDatabase(const Library& library, const std::vector<std::string>& batches,
                   const std::vector<Event>& chain, CheckReport& report) {
  try {
    const std::string damage = library.store().damage();
    if (!damage.empty()) report.add_faults("The database is damaged: " + damage + ".");
    const std::string remark = library.store().remark();
    if (!remark.empty()) report.add_remarks(remark);
    const auto by_hold = checkEvents(library, chain, report);
    std::map<std::string, Hold> holds;
    for (const auto& [id, events] : by_hold) {
      const auto folded = holdAsOf(events);
      if (folded) holds[id] = slimHold(*folded);
      if (!folded || !library.has(id) || !MessageDifferencer::Equals(holds[id], library.hold(id)))
        report.add_faults("The record of " + id + " is not what its events say.");
    }
    checkRows(library, holds, report);
    checkColumns(library, batches, report);
    if (library.size() != static_cast<std::int64_t>(by_hold.size()))
      report.add_faults("There are records in the database that no event made.");
  } catch (const BadInput& damage) {
    report.add_faults(damage.what());
  } catch (const StoreError& damage) {
    report.add_faults(std::string("The database is damaged: ") + damage.what() + ".");
  }
}

/// Events of the database after those of the chain: a batch is lost, its events are not.
std::vector<Event> beyondChain(const Library& library, const std::vector<Event>& chain) {
  const std::int64_t last = chain.empty() ? 0 : chain.back().number();
  std::vector<Event> beyond;
  try {
    library.forEachEvent([&](const Event& event) {
      if (event.number() > last) beyond.push_back(event);
    });
  } catch (const std::exception&) {
    return {};  // The database is no help.
  }
  return beyond;
}

/// Names of all files that the database or a batch on the disk refers to.
std::set<std::string> wantedFiles(const fs::path& folder) {
  std::set<std::string> names;
  const auto blobs = blobsAt(folder);
  for (const std::string& name : blobs->names()) {
    names.insert(name);
    try {
      const auto batch = asBatch(blobs->get(name));
      if (!batch) continue;
      if (!batch->previous().empty()) names.insert(batch->previous());
      for (const Event& event : batch->events())
        for (const std::string& file : blobsOf(event)) names.insert(file);
    } catch (const BadInput&) {  // Damaged: wanted as well.
    }
  }
  if (!Library::isIn(folder)) return names;
  try {
    const Library library = Library::open(folder);
    for (const std::string& name : library.store().batches()) names.insert(name);
    library.forEachEvent([&](const Event& event) {
      for (const std::string& name : blobsOf(event)) names.insert(name);
    });
  } catch (const std::exception&) {  // What was read so far is wanted anyway.
  }
  return names;
}

/// Brings one file back if it is lost or damaged and the donor has it.
bool mendFile(Blobs& blobs, const std::string& name, const Blobs& theirs) {
  try {
    (void)blobs.get(name);
    return false;
  } catch (const BadInput&) {
    if (!theirs.has(name)) return false;
  }
  const std::string bytes = theirs.get(name);
  blobs.discard(name);
  blobs.put(bytes);
  return true;
}

/// Brings lost and damaged files back from another library's; says of each that it did. A batch
/// that comes back may name further files, so that it goes round until nothing comes.
void mendFiles(const fs::path& folder, const fs::path& donor, CheckReport& report) {
  if (!isDatabaseAddress(donor) && !fs::is_directory(donor / "blobs"))
    throw BadInput("There is no library in " + donor.string() + " to take files from.");
  const auto blobs = blobsAt(folder), theirs = blobsAt(donor);
  for (bool more = true; more;) {
    more = false;
    for (const std::string& name : wantedFiles(folder)) {
      if (!mendFile(*blobs, name, *theirs)) continue;
      report.add_mended("File " + name + " came back from " + donor.string() + ".");
      more = true;
    }
  }
}

/// The viewer's mesh is made of the mesh again, where that gives the very file that was lost.
void remakeViewerMesh(Blobs& blobs, const std::string& hold, const Scan& scan,
                      CheckReport& report) {
  if (scan.glb_blob().empty() || scan.mesh_blob().empty()) return;
  try {
    (void)blobs.get(scan.glb_blob());
  } catch (const BadInput&) {
    const std::string glb = glbBytes(parseMesh(blobs.get(scan.mesh_blob()), hold + ".ply"));
    if (sha256Hex(glb) != scan.glb_blob()) return;
    blobs.discard(scan.glb_blob());
    blobs.put(glb);
    report.add_mended("The viewer mesh of " + hold + " was made again from its mesh.");
  }
}

void remakeViewerMeshes(const fs::path& folder, CheckReport& report) {
  const auto blobs = blobsAt(folder);
  for (const std::string& name : blobs->names()) try {
      const auto batch = asBatch(blobs->get(name));
      if (!batch) continue;
      for (const Event& event : batch->events())
        remakeViewerMesh(*blobs, event.hold(), event.scanned(), report);
    } catch (const BadInput&) {  // Said where all files are read.
    }
}

/// Batches whose predecessor is lost, and with it their place in the chain, unless the chain has
/// their events from elsewhere.
void checkLostLinks(const Files& files, const std::vector<Event>& chain, CheckReport& report) {
  std::set<std::string> known, lost;
  for (const Event& event : chain) known.insert(event.SerializeAsString());
  for (const auto& [name, batch] : files.batches) {
    if (batch.previous().empty() || files.batches.count(batch.previous()) > 0) continue;
    for (const Event& event : batch.events())
      if (known.count(event.SerializeAsString()) == 0) lost.insert(batch.previous());
  }
  for (const std::string& name : lost)
    report.add_faults("The batch of events " + name +
                      " is lost or damaged, and others follow on it: --from a backup brings it "
                      "back.");
}

/// Puts a database that cannot be mended out of the way; nothing is deleted.
void setAside(const fs::path& folder, CheckReport& report) {
  const fs::path file = folder / "holdshelf.sqlite";
  fs::path aside;
  for (int n = 1; aside.empty() || fs::exists(aside); ++n)
    aside = file.string() + ".damaged-" + std::to_string(n);
  for (const char* tail : {"", "-wal", "-shm"})
    if (fs::exists(file.string() + tail)) fs::rename(file.string() + tail, aside.string() + tail);
  report.add_mended("The damaged database was set aside as " + aside.filename().string() + ".");
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

void restoreDatabase(const fs::path& folder, std::optional<Library>& library,
                     const std::vector<std::string>& chain, const std::vector<Event>& events,
                     CheckReport& report) {
  if (library) try {
      if (library->store().damage().empty()) {
        library->restore(chain, events);
        return;
      }
    } catch (const std::exception&) {  // Too damaged to be written to.
    }
  if (isDatabaseAddress(folder))
    throw BadInput("The database of " + folder.string() +
                   " cannot be written to: bring it back from its backup.");
  library.reset();
  setAside(folder, report);
  library.emplace(Library::openOrCreate(folder));
  library->restore(chain, events);
}

/// One batch of all events, in place of a chain that has lost a link.
std::string rewriteBatches(const fs::path& folder, const std::vector<Event>& events) {
  Batch batch;
  for (const Event& event : events) *batch.add_events() = event;
  return blobsAt(folder)->put(batch.SerializeAsString());
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
  if (library && backupWasCutOff(folder, *library)) cut_off = listedChain(files.batches, *library);
  if (repair && !cut_off) fs::remove(folder / kUnfinishedBackup);
  auto chain = cut_off ? *cut_off : chainOf(files.batches, library);
  std::vector<Event> events;
  std::set<std::string> referenced(chain.begin(), chain.end());
  for (const std::string& name : chain)
    for (const Event& event : files.batches.at(name).events()) {
      events.push_back(event);
      checkBlobsOf(event, files, referenced, report);
    }
  report.set_events(static_cast<std::int64_t>(events.size()));
  if (!cut_off) checkLostLinks(files, events, report);
  for (const std::string& name : files.names)
    if (referenced.count(name) == 0) report.set_unreferenced_blobs(report.unreferenced_blobs() + 1);
  if (missing && events.empty())
    throw BadInput("There is nothing in " + folder.string() +
                   " to make a library from: copy its blobs back first.");

  if (missing) database.add_faults("The database is missing.");
  if (library) checkDatabase(*library, chain, events, database);
  const std::vector<Event> beyond = library ? beyondChain(*library, events) : std::vector<Event>();
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
