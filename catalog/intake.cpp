// SPDX-License-Identifier: Apache-2.0
#include "catalog/intake.h"

#include <algorithm>
#include <string_view>

#include "capture/colour.h"
#include "catalog/clock.h"
#include "catalog/colour.h"
#include "catalog/grip_map.h"
#include "catalog/grip_words.h"
#include "catalog/hold_change.h"
#include "catalog/measured_text.h"
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
  } else if (Library::isIn(folder) && Library::open(folder).has(options.labels.id)) {
    throw BadInput("There is a hold " + options.labels.id + " in " + folder.string() +
                   " already: choose another --id, or leave it out to get the next free one.");
  }
}

void putBlobs(Blobs& blobs, const FinishedScan& finished, Scan& scan) {
  const auto put = [&](const std::string& bytes) {
    return bytes.empty() ? std::string() : blobs.put(bytes);
  };
  scan.set_mesh_blob(put(finished.mesh_ply));
  scan.set_glb_blob(put(finished.mesh_glb));
  scan.set_contact_sheet_blob(put(finished.contact_sheet_png));
  scan.set_thumbnail_blob(put(finished.thumbnail_png));
  for (const auto& photo : finished.photos) scan.add_photo_blobs(blobs.put(readFile(photo)));
}

Event createdEvent(const IntakeLabels& labels) {
  Event event;
  event.set_hold(labels.id);
  event.set_who(labels.who);
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

/// The lot's count grows by what came in; nothing of it becomes the lot's scan, whose wear is that
/// of the piece that was scanned.
Hold addToLot(Library& library, const FinishedScan& finished, const std::string& lot,
              const IntakeLabels& labels,
              const std::function<void(const std::string& hold)>& within) {
  const int count = std::max(1, library.hold(lot).count());
  std::vector<Event> events(1);
  events[0].set_hold(lot);
  events[0].mutable_edited()->add_fields("count");
  events[0].mutable_edited()->set_count(count + labels.count);
  if (!finished.contact_sheet_png.empty()) {
    events.emplace_back().set_hold(lot);
    events.back().set_photographed(library.blobs().put(finished.contact_sheet_png));
  }
  for (Event& event : events) event.set_who(labels.who);
  return changeHold(library, [&] {
    if (std::max(1, library.hold(lot).count()) != count)
      throw BadInput("Somebody has changed the count of " + lot + " just now: take it in again.");
    if (within) within(lot);
    return HoldChange{lot, std::move(events)};
  });
}

}  // namespace

IntakeLabels labelsOf(const Intake& intake) {
  IntakeLabels labels;
  labels.id = intake.hold_id();
  labels.name = intake.name();
  labels.bin = intake.bin();
  labels.set = intake.set();
  labels.maker = intake.maker();
  labels.texture = intake.texture();
  labels.count = std::max(1, intake.count());
  labels.who = intake.who();
  return labels;
}

FinishedScan finishMesh(const TriangleMesh& mesh, const Progress& progress) {
  FinishedScan finished;
  Scan& scan = finished.scan;
  scan.set_taken_at(nowUtc());
  if (!mesh.colours.empty()) *scan.mutable_colour() = colourFromSrgb(medianColour_srgb(mesh));
  *scan.mutable_shape() = measureShape(mesh, {}, progress);
  const Signature signature = signatureOf(mesh);
  const PackedSignature packed = packSignature(signature);
  scan.set_signature(packed.data(), packed.size());
  scan.set_size_mm(signature.size_mm);
  finished.words = gripWords(scan.shape());
  *scan.mutable_grip_map() = makeGripMap(GripModel(scan.shape()));
  finished.mesh_ply = plyBytes(mesh);
  finished.mesh_glb = glbBytes(mesh);
  return finished;
}

FinishedScan finishScan(const Rebuilt& rebuilt, const Progress& progress) {
  FinishedScan finished = finishMesh(rebuilt.mesh, progress);
  finished.mesh_ply = withTexture(std::move(finished.mesh_ply), rebuilt.texture);
  *finished.scan.mutable_report() = rebuilt.report;
  *finished.scan.mutable_colour() = colourFromSrgb(rebuilt.colour_srgb);
  finished.contact_sheet_png = bytesOf(rebuilt.contact_sheet_png);
  finished.thumbnail_png = bytesOf(rebuilt.thumbnail_png);
  return finished;
}

Hold storeScan(Library& library, FinishedScan finished, const IntakeLabels& labels,
               const IntakeChoice& choice,
               const std::function<void(const std::string& hold)>& within) {
  if (choice.kind == IntakeChoice::Kind::OneMore)
    return addToLot(library, finished, choice.of, labels, within);
  putBlobs(library.blobs(), finished, finished.scan);
  finished.scan.set_id(finished.scan.mesh_blob().substr(0, 12));
  std::vector<Event> events;
  if (choice.kind == IntakeChoice::Kind::New) events.push_back(createdEvent(labels));
  Event& scanned = events.emplace_back();
  scanned.set_who(labels.who);
  if (choice.kind == IntakeChoice::Kind::NewScan) scanned.set_hold(choice.of);
  *scanned.mutable_scanned() = std::move(finished.scan);
  scanned.mutable_words()->Add(finished.words.begin(), finished.words.end());
  if (!labels.colour.empty()) {
    Event& named = events.emplace_back();
    named.set_who(labels.who);
    named.mutable_edited()->add_fields("colour");
    named.mutable_edited()->set_colour(labels.colour);
  }
  return changeHold(library, [&] {
    std::string id = events.front().hold();
    if (id.empty()) id = library.nextFreeId();
    for (Event& event : events) event.set_hold(id);
    if (within) within(id);
    return HoldChange{std::move(id), std::move(events)};
  });
}

std::string storedSince(const Library& library, std::int64_t number, const std::string& mesh,
                        const std::string& sheet) {
  std::string hold;
  Event event;
  library.store().forEachEvent(
      [&](const EventRow& row) {
        if (hold.empty() &&
            event.ParseFromArray(row.body.data(), static_cast<int>(row.body.size())) &&
            (event.scanned().mesh_blob() == mesh || event.photographed() == sheet))
          hold = event.hold();
      },
      number - 1);
  return hold;
}

std::string againText(const Twin& twin) {
  if (twin.kind() != Twin::SAME || twin.needs_an_eye()) return "This is " + twinText(twin) + ".";
  return "This is " + twin.other() + " again (" + decimalText(twin.median_mm(), 2) + " mm).";
}

ReadyScan readyScan(const std::filesystem::path& library_folder,
                    const std::vector<std::filesystem::path>& photos, const std::optional<Mat>& mat,
                    const RebuildOptions& options, const Progress& progress) {
  const Rebuilt rebuilt = rebuild(photos, mat, options, progress);
  ReadyScan ready{finishScan(rebuilt, progress), {}};
  if (Library::isIn(library_folder))
    ready.again = twinsOfMesh(Library::open(library_folder), rebuilt.mesh, {}, progress);
  return ready;
}

Hold intake(const std::filesystem::path& library_folder,
            const std::vector<std::filesystem::path>& photos, const IntakeOptions& options,
            const Progress& progress) {
  checkId(library_folder, options);
  const bool asked = options.new_scan_of.empty() && options.choose;
  ReadyScan ready =
      asked
          ? readyScan(library_folder, photos, options.mat, options.rebuild, progress)
          : ReadyScan{finishScan(rebuild(photos, options.mat, options.rebuild, progress), progress),
                      {}};
  if (options.keep_photos) ready.finished.photos = photos;
  if (!progress("storing", 0)) throw Interrupted();
  Library library = Library::openOrCreate(library_folder);
  IntakeChoice choice;
  if (!options.new_scan_of.empty()) {
    choice = {IntakeChoice::Kind::NewScan, options.new_scan_of};
  } else if (asked) {
    choice = options.choose(ready.again);
  }
  return storeScan(library, std::move(ready.finished), options.labels, choice);
}

}  // namespace holdshelf
