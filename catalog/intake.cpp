// SPDX-License-Identifier: Apache-2.0
#include "catalog/intake.h"

#include <string_view>

#include "catalog/clock.h"
#include "catalog/colour.h"
#include "catalog/grip_map.h"
#include "catalog/grip_words.h"
#include "catalog/hold_record.h"
#include "catalog/twins.h"
#include "mesh/bad_input.h"
#include "mesh/measure_shape.h"
#include "mesh/mesh_io.h"
#include "mesh/signature.h"

namespace holdshelf {
namespace {

std::string bytesOf(const std::vector<std::uint8_t>& data) {
  return {reinterpret_cast<const char*>(data.data()), data.size()};
}

void checkId(const std::filesystem::path& folder, const IntakeOptions& options) {
  if (!options.new_scan_of.empty()) {
    (void)Library::open(folder).hold(options.new_scan_of);
  } else if (std::filesystem::exists(folder) && Library::isIn(folder) &&
             Library::open(folder).has(options.labels.id)) {
    throw BadInput("There is a hold " + options.labels.id + " in " + folder.string() +
                   " already: choose another --id, or leave it out to get the next free one.");
  }
}

void putBlobs(BlobStore& blobs, const FinishedScan& finished, Scan& scan) {
  scan.set_mesh_blob(blobs.put(finished.mesh_ply));
  scan.set_glb_blob(blobs.put(finished.mesh_glb));
  // What came as a mesh has no pictures.
  if (!finished.contact_sheet_png.empty())
    scan.set_contact_sheet_blob(blobs.put(finished.contact_sheet_png));
  if (!finished.thumbnail_png.empty()) scan.set_thumbnail_blob(blobs.put(finished.thumbnail_png));
  for (const auto& photo : finished.photos) scan.add_photo_blobs(blobs.put(readFile(photo)));
}

Event createdEvent(const IntakeLabels& labels) {
  Event event;
  event.set_hold(labels.id);
  Hold& hold = *event.mutable_created();
  hold.set_name(labels.name);
  hold.set_bin(labels.bin);
  hold.set_set(labels.set);
  hold.set_maker(labels.maker);
  hold.set_texture(labels.texture);
  hold.set_count(labels.count);
  hold.set_status(SHELF);
  return event;
}

}  // namespace

FinishedScan finishScan(const Rebuilt& rebuilt, const Progress& progress) {
  FinishedScan finished;
  Scan& scan = finished.scan;
  scan.set_taken_at(nowUtc());
  *scan.mutable_report() = rebuilt.report;
  *scan.mutable_shape() = measureShape(rebuilt.mesh, {}, progress);
  *scan.mutable_colour() = colourFromSrgb(rebuilt.colour_srgb);
  const Signature signature = signatureOf(rebuilt.mesh);
  const PackedSignature packed = packSignature(signature);
  scan.set_signature(packed.data(), packed.size());
  scan.set_size_mm(signature.size_mm);
  finished.words = gripWords(scan.shape());
  *scan.mutable_grip_map() = makeGripMap(GripModel(scan.shape()));
  finished.mesh_ply = plyBytes(rebuilt.mesh);
  finished.mesh_glb = glbBytes(rebuilt.mesh);
  finished.contact_sheet_png = bytesOf(rebuilt.contact_sheet_png);
  finished.thumbnail_png = bytesOf(rebuilt.thumbnail_png);
  return finished;
}

Hold storeScan(Library& library, FinishedScan finished, const IntakeLabels& labels,
               const std::string& new_scan_of) {
  putBlobs(library.blobs(), finished, finished.scan);
  finished.scan.set_id(finished.scan.mesh_blob().substr(0, 12));
  std::vector<Event> events;
  if (new_scan_of.empty()) events.push_back(createdEvent(labels));
  Event& scanned = events.emplace_back();
  scanned.set_hold(new_scan_of);
  *scanned.mutable_scanned() = std::move(finished.scan);
  scanned.mutable_words()->Add(finished.words.begin(), finished.words.end());
  return library.hold(library.commit(std::move(events)).front().hold());
}

TwinList twinsOfNew(const Library& library, const Hold& hold) {
  const TriangleMesh mesh =
      parseMesh(library.blobs().get(currentScan(hold)->mesh_blob()), hold.id() + ".ply");
  TwinList all = twinsOfMesh(library, mesh, {}, {}), others;
  others.set_holds(all.holds());
  others.set_registered(all.registered());
  for (Twin& twin : *all.mutable_twins()) {
    if (twin.other() == hold.id()) continue;
    twin.set_hold(hold.id());
    *others.add_twins() = std::move(twin);
  }
  return others;
}

Hold intake(const std::filesystem::path& library_folder,
            const std::vector<std::filesystem::path>& photos, const IntakeOptions& options,
            const Progress& progress) {
  checkId(library_folder, options);
  const Rebuilt rebuilt = rebuild(photos, options.mat, options.rebuild, progress);
  FinishedScan finished = finishScan(rebuilt, progress);
  if (options.keep_photos) finished.photos = photos;
  if (!progress("storing", 0)) throw Interrupted();
  Library library = Library::openOrCreate(library_folder);
  return storeScan(library, std::move(finished), options.labels, options.new_scan_of);
}

}  // namespace holdshelf
