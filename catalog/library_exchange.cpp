// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_exchange.h"

#include "catalog/console.h"
#include "catalog/hold_record.h"
#include "catalog/library_csv.h"
#include "catalog/library_merge.h"
#include "mesh/bad_input.h"
#include "mesh/unfinished.h"

namespace fs = std::filesystem;

namespace holdshelf {
namespace {

void writeFiles(const Library& library, const fs::path& folder, const Progress& progress) {
  EventList events;
  HoldList holds;
  library.forEachEvent([&](const Event& event) { *events.add_events() = event; });
  library.forEachHold([&](std::int64_t, const Hold& hold) { *holds.add_holds() = hold; });
  writeFileDurably(folder / "holds.csv", "\xEF\xBB\xBF" + libraryCsv(library));
  writeFileDurably(folder / "holds.json", toJson(holds));
  writeFileDurably(folder / "events.json", toJson(events));
  BlobStore blobs(folder / "blobs");
  for (int i = 0; i < events.events_size(); ++i) {
    if (progress && !progress("copying files", static_cast<double>(i) / events.events_size()))
      throw Interrupted();
    for (const std::string& blob : blobsOf(events.events(i)))
      if (!blobs.has(blob)) blobs.put(library.blobs().get(blob));
  }
  makeFolderDurably(folder / "meshes");
  for (const Hold& hold : holds.holds()) {
    const Scan* scan = currentScan(hold);
    if (scan == nullptr || scan->mesh_blob().empty()) continue;
    // Ids are free text: a slash in one is no folder.
    std::string name = hold.id();
    for (char& c : name)
      if (c == '/' || c == '\\') c = '_';
    writeFileDurably(folder / "meshes" / (name + ".ply"), library.blobs().get(scan->mesh_blob()));
  }
}

}  // namespace

void exportLibrary(const Library& library, const fs::path& to, const Progress& progress) {
  if (fs::exists(to)) throw BadInput(to.string() + " exists already: name a folder that does not.");
  fs::path target = fs::absolute(to).lexically_normal();
  if (target.filename().empty()) target = target.parent_path();
  try {
    Unfinished part(target, Unfinished::Kind::Folder);
    writeFiles(library, part.path(), progress);
    part.takePlaceDurably();
  } catch (const std::system_error& failure) {
    throw BadInput(to.string() + " cannot be made (" + failure.code().message() +
                   "): choose a folder that you may write to, on a disk that has room.");
  }
}

MergeReport importFolder(Library& library, const fs::path& folder, bool dry_run,
                         const Progress& progress) {
  EventList list;
  const fs::path file = folder / "events.json";
  if (!fs::exists(file))
    throw BadInput("There is no events.json in " + folder.string() +
                   ": name a folder that holdshelf export --all wrote.");
  fromExportedJson(readFile(file), file.string(), list);
  MergeSource source;
  source.name = fs::absolute(folder).lexically_normal().filename().string();
  source.events.assign(list.events().begin(), list.events().end());
  const BlobStore blobs(folder / "blobs");
  source.blobs = &blobs;
  return mergeInto(library, source, dry_run, progress);
}

}  // namespace holdshelf
