// SPDX-License-Identifier: Apache-2.0
#include "tests/reliability/fuzz/stored_library.h"

#include <stdexcept>

#include "catalog/ask.h"
#include "catalog/find.h"
#include "catalog/grip_model.h"
#include "catalog/grip_verdict.h"
#include "catalog/hold_record.h"
#include "catalog/library_check.h"
#include "catalog/twins.h"
#include "mesh/bad_input.h"
#include "mesh/measure_shape.h"
#include "mesh/mesh_io.h"
#include "mesh/signature.h"
#include "tests/reliability/fuzz/filled_message.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

namespace holdshelf::test {
namespace {

constexpr double kCell_mm = 9;

struct Solid {
  TriangleMesh mesh;
  std::string ply;
};

const std::vector<Solid>& solids() {
  static const std::vector<Solid> made = [] {
    std::vector<Solid> all;
    for (const ExactHold& hold : {domeHold(45, 30), edgeHold({})}) {
      Solid& solid = all.emplace_back();
      solid.mesh = meshSdf(hold.solid, hold.box_mm, kCell_mm);
      solid.ply = plyBytes(solid.mesh);
    }
    return all;
  }();
  return made;
}

Scan scanOf(const Solid& solid) {
  MeasureOptions options;
  options.rotation_step_deg = 90;
  Scan scan;
  *scan.mutable_shape() = measureShape(solid.mesh, options);
  scan.mutable_shape()->clear_footprint_mm();  // Half of the room, and nothing reads it.
  scan.set_mesh_blob(sha256Hex(solid.ply));
  const Signature signature = signatureOf(solid.mesh);
  const PackedSignature packed = packSignature(signature);
  scan.set_signature(packed.data(), packed.size());
  scan.set_size_mm(signature.size_mm);
  return scan;
}

std::vector<Event> historyOf(const std::string& id, const Scan& scan) {
  std::vector<Event> events(2);
  for (std::size_t i = 0; i < events.size(); ++i) {
    events[i].set_hold(id);
    events[i].set_number(static_cast<std::int64_t>(i) + 1);
    events[i].set_at("2026-03-01T18:0" + std::to_string(i) + ":00Z");
  }
  events[0].mutable_created()->set_status(SHELF);
  *events[1].mutable_scanned() = scan;
  events[1].mutable_scanned()->set_id("scan");
  return events;
}

void askVerdict(const Library& library, const Hold& hold) {
  const Scan* scan = currentScan(hold);
  if (scan == nullptr || scan->id().empty()) return;  // One without an id counts as none.
  const Scan full = library.currentFullScan(hold.id());
  const GripModel model(full.shape());
  (void)verdictAt(model, {.rotation_deg = 30, .wall_angle_deg = 20});
}

void ask(const Library& library) {
  const SearchIndex index(library);
  (void)index.find(queryOf("edge depth over 10 mm, show 3"));
  (void)index.find(queryOf("lip shaped radius 4 incut 5 depth 20, show 3"));
  library.forEachHold([&](std::int64_t, const Hold& hold) {
    (void)library.history(hold.id());
    askVerdict(library, hold);
  });
  (void)findTwins(library, {}, {});
}

}  // namespace

void putFilesOfSeeds(Blobs& blobs) {
  blobs.put(filledFile());
  for (const Solid& solid : solids()) blobs.put(solid.ply);
}

std::vector<std::vector<Event>> measuredHistories() {
  const Scan dome = scanOf(solids()[0]), ledge = scanOf(solids()[1]);
  Scan twin = ledge;  // Whose mesh is none: laying one on the other takes longer than all else.
  twin.set_mesh_blob(sha256Hex(filledFile()));
  std::vector<Event> twins = historyOf("H-0001", ledge);
  for (const Event& event : historyOf("H-0002", twin)) twins.push_back(event);
  for (std::size_t i = 2; i < twins.size(); ++i) twins[i].set_number(static_cast<int>(i) + 1);
  Scan few_points = ledge;  // The shortest, without a file.
  for (Section& section : *few_points.mutable_shape()->mutable_sections()) {
    const auto points = section.points_mm();
    section.clear_points_mm();
    for (int i = 0; i < points.size(); i += 8) *section.add_points_mm() = points[i];
  }
  few_points.clear_mesh_blob();
  return {historyOf("H-0001", dome), historyOf("H-0001", ledge), historyOf("H-0001", few_points),
          twins};
}

void useAll(const Library& library) {
  try {
    ask(library);
  } catch (const BadInput& refusal) {
    throw std::logic_error(std::string("what was accepted cannot be used: ") + refusal.what());
  }
  const CheckReport report = checkLibrary(library.folder(), false, {});
  if (!report.faults().empty())
    throw std::logic_error("a fault in what was accepted: " + report.faults(0).substr(0, 300));
}

}  // namespace holdshelf::test
