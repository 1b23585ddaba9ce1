// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_check.h"

#include <google/protobuf/util/message_differencer.h>

#include <map>
#include <optional>
#include <set>

#include "catalog/hold_record.h"
#include "catalog/library_merge.h"
#include "mesh/bad_input.h"

namespace fs = std::filesystem;
using google::protobuf::util::MessageDifferencer;

namespace holdshelf {
namespace {

/// The batch in a blob, or nullopt when the blob is something else. A mesh or picture does not
/// parse; what parses by chance has no numbered events.
std::optional<Batch> asBatch(const std::string& bytes) {
  // Only its two fields' tags can begin a batch; no mesh, picture or JSON begins with either.
  if (bytes.empty() || (bytes.front() != '\x0a' && bytes.front() != '\x12')) return std::nullopt;
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

Files readFiles(const BlobStore& blobs, const Progress& progress, CheckReport& report) {
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

/// The chain with most events from a first batch: what interrupted work left never has a successor.
std::vector<std::string> longestChain(const std::map<std::string, Batch>& batches) {
  std::map<std::string, std::vector<std::string>> next;
  for (const auto& [name, batch] : batches) next[batch.previous()].push_back(name);
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
    for (const std::string& name : next[chain.empty() ? "" : chain.back()]) {
      open.emplace_back(chain, events + batches.at(name).events_size());
      open.back().first.push_back(name);
    }
  }
  return best;
}

void checkBlob(const std::string& name, const std::string& what, const Files& files,
               std::set<std::string>& referenced, CheckReport& report) {
  if (name.empty()) return;
  referenced.insert(name);
  if (files.names.count(name) == 0)
    report.add_faults("The " + what + " is lost: blob " + name + ".");
}

void checkBlobsOf(const Event& event, const Files& files, std::set<std::string>& referenced,
                  CheckReport& report) {
  const auto check = [&](const std::string& name, const char* what) {
    checkBlob(name, std::string(what) + " of " + event.hold(), files, referenced, report);
  };
  const Scan& scan = event.scanned();
  check(scan.mesh_blob(), "mesh");
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

/// Faults of the database itself, measured against the events of the chain.
void checkDatabase(const Library& library, const std::vector<Event>& chain, CheckReport& report) {
  try {
    sqlite::Statement integrity(library.database(), "PRAGMA integrity_check");
    if (integrity.step() && integrity.text(0) != "ok")
      report.add_faults("The database is damaged: " + integrity.text(0) + ".");
    const auto by_hold = checkEvents(library, chain, report);
    for (const auto& [id, events] : by_hold) {
      const auto folded = holdAsOf(events);
      if (!folded || !library.has(id) ||
          !MessageDifferencer::Equals(slimHold(*folded), library.hold(id)))
        report.add_faults("The record of " + id + " is not what its events say.");
    }
    if (library.size() != static_cast<std::int64_t>(by_hold.size()))
      report.add_faults("There are records in the database that no event made.");
  } catch (const BadInput& damage) {
    report.add_faults(damage.what());
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

/// Names of all files that the database refers to.
std::set<std::string> wantedFiles(const fs::path& folder) {
  std::set<std::string> names;
  if (!Library::isIn(folder)) return names;
  try {
    const Library library = Library::open(folder);
    sqlite::Statement batches(library.database(), "SELECT blob FROM batch");
    while (batches.step()) names.insert(batches.text(0));
    library.forEachEvent([&](const Event& event) {
      for (const std::string& name : blobsOf(event)) names.insert(name);
    });
  } catch (const std::exception&) {  // What was read so far is wanted anyway.
  }
  return names;
}

/// Brings lost and damaged files back from another library's; says of each that it did.
void mendFiles(const fs::path& folder, const fs::path& donor, CheckReport& report) {
  if (!fs::is_directory(donor / "blobs"))
    throw BadInput("There is no library in " + donor.string() + " to take files from.");
  BlobStore blobs(folder / "blobs");
  const BlobStore theirs(donor / "blobs");
  std::set<std::string> wanted = wantedFiles(folder);
  for (const std::string& name : blobs.names()) wanted.insert(name);
  for (const std::string& name : wanted) {
    try {
      (void)blobs.get(name);
    } catch (const BadInput&) {
      if (!theirs.has(name)) continue;
      const std::string bytes = theirs.get(name);
      std::error_code ignored;
      fs::remove(blobs.file(name), ignored);
      blobs.put(bytes);
      report.add_mended("File " + name + " came back from " + donor.string() + ".");
    }
  }
}

/// One batch of all events, in place of a chain that has lost a link.
std::string rewriteBatches(const fs::path& folder, const std::vector<Event>& events) {
  Batch batch;
  for (const Event& event : events) *batch.add_events() = event;
  return BlobStore(folder / "blobs").put(batch.SerializeAsString());
}

}  // namespace

CheckReport checkLibrary(const fs::path& folder, bool repair, const Progress& progress,
                         const fs::path& donor) {
  CheckReport report;
  if (repair && !donor.empty()) mendFiles(folder, donor, report);
  const bool missing = !Library::isIn(folder);
  if (missing && (!repair || !fs::exists(folder / "blobs"))) (void)Library::open(folder);
  const Files files = readFiles(BlobStore(folder / "blobs"), progress, report);
  auto chain = longestChain(files.batches);
  std::vector<Event> events;
  std::set<std::string> referenced(chain.begin(), chain.end());
  for (const std::string& name : chain)
    for (const Event& event : files.batches.at(name).events()) {
      events.push_back(event);
      checkBlobsOf(event, files, referenced, report);
    }
  report.set_events(static_cast<std::int64_t>(events.size()));
  for (const std::string& name : files.names)
    if (referenced.count(name) == 0) report.set_unreferenced_blobs(report.unreferenced_blobs() + 1);
  if (missing && events.empty())
    throw BadInput("There is nothing in " + folder.string() +
                   " to make a library from: copy its blobs back first.");

  const int before = report.faults_size();
  std::optional<Library> library(Library::openOrCreate(folder));
  if (missing) report.add_faults("The database is missing.");
  if (!missing) checkDatabase(*library, events, report);
  const std::vector<Event> beyond = missing ? std::vector<Event>() : beyondChain(*library, events);
  if (!beyond.empty())
    report.add_faults("A batch of events is lost: " + std::to_string(beyond.size()) +
                      " events are in the database only.");
  if (repair && report.faults_size() > before) {
    if (!beyond.empty()) {
      events.insert(events.end(), beyond.begin(), beyond.end());
      chain = {rewriteBatches(folder, events)};
    }
    library->restore(chain, events);
    report.set_repaired(true);
  }
  report.set_holds(library->size());
  return report;
}

}  // namespace holdshelf
