// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_check.h"

#include <google/protobuf/util/message_differencer.h>

#include <map>
#include <optional>
#include <set>

#include "catalog/hold_record.h"
#include "mesh/bad_input.h"

namespace fs = std::filesystem;
using google::protobuf::util::MessageDifferencer;

namespace holdshelf {
namespace {

/// The batch in a blob, or nullopt when the blob is something else. A mesh or picture does not
/// parse; what parses by chance has no numbered events.
std::optional<Batch> asBatch(const std::string& bytes) {
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

/// The longest chain from a first batch: what interrupted work left never has a successor.
std::vector<std::string> longestChain(const std::map<std::string, Batch>& batches) {
  std::map<std::string, std::vector<std::string>> next;
  for (const auto& [name, batch] : batches) next[batch.previous()].push_back(name);
  std::vector<std::string> best;
  std::vector<std::vector<std::string>> open = {{}};
  while (!open.empty()) {
    const std::vector<std::string> chain = std::move(open.back());
    open.pop_back();
    if (chain.size() > best.size()) best = chain;
    for (const std::string& name : next[chain.empty() ? "" : chain.back()]) {
      open.push_back(chain);
      open.back().push_back(name);
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

}  // namespace

CheckReport checkLibrary(const fs::path& folder, bool repair, const Progress& progress) {
  CheckReport report;
  const bool missing = !Library::isIn(folder);
  if (missing && (!repair || !fs::exists(folder / "blobs"))) (void)Library::open(folder);
  const Files files = readFiles(BlobStore(folder / "blobs"), progress, report);
  const auto chain = longestChain(files.batches);
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
  if (repair && report.faults_size() > before) {
    library->restore(chain, events);
    report.set_repaired(true);
  }
  report.set_holds(library->size());
  return report;
}

}  // namespace holdshelf
