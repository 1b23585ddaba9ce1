// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_mend.h"

#include <set>

#include "catalog/batch_chain.h"
#include "catalog/blob_store.h"
#include "catalog/library_merge.h"
#include "catalog/library_place.h"
#include "mesh/bad_input.h"
#include "mesh/mesh_io.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

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

}  // namespace

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

std::string rewriteBatches(const fs::path& folder, const std::vector<Event>& events) {
  Batch batch;
  for (const Event& event : events) *batch.add_events() = event;
  return blobsAt(folder)->put(batch.SerializeAsString());
}

void restoreDatabase(const fs::path& folder, std::optional<Library>& library,
                     const std::vector<std::string>& batches, const std::vector<Event>& events,
                     CheckReport& report) {
  if (library) try {
      if (library->store().damage().empty()) {
        library->restore(batches, events);
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
  library->restore(batches, events);
}

}  // namespace holdshelf
