// SPDX-License-Identifier: Apache-2.0
#include "catalog/foreign_event.h"

#include <doctest/doctest.h>

#include <cmath>
#include <functional>
#include <limits>

#include "catalog/find.h"
#include "catalog/grip_map.h"
#include "catalog/grip_verdict.h"
#include "catalog/gym.h"
#include "catalog/library_check.h"
#include "catalog/library_copy.h"
#include "catalog/library_exchange.h"
#include "catalog/library_merge.h"
#include "catalog/library_transfer.h"
#include "mesh/bad_input.h"
#include "mesh/measure_shape.h"
#include "tests/catalog/temp_folder.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

Shape measured(const ExactHold& hold, double cell_mm, const MeasureOptions& options = {}) {
  return measureShape(meshSdf(hold.solid, hold.box_mm, cell_mm), options);
}

/// A hold's first two events, its scan of a measured edge.
std::vector<Event> edgeEvents(const std::string& id) {
  static const Shape shape = measured(edgeHold({}), 3);
  std::vector<Event> events(2);
  events[0].set_hold(id);
  events[0].set_at("2031-03-01T18:00:00.000Z");
  events[0].mutable_created()->set_status(SHELF);
  events[1].set_hold(id);
  events[1].set_at("2031-03-01T18:01:00.000Z");
  events[1].mutable_scanned()->set_id("scan of " + id);
  *events[1].mutable_scanned()->mutable_shape() = shape;
  return events;
}

Grip& someGrip(Event& event) { return *event.mutable_scanned()->mutable_shape()->mutable_grips(3); }

/// What the event of an edge's scan says then that cannot be so.
std::string untruthAfter(const std::function<void(Event&)>& change) {
  Event event = edgeEvents("H-0001")[1];
  change(event);
  return untruthIn(event);
}

/// A library that was told what cannot be so before anybody asked.
void fillWithUntruth(Library& library, const std::function<void(Event&)>& change) {
  std::vector<Event> events = edgeEvents("H-0001");
  change(events[1]);
  library.commit(events);
  library.commit(edgeEvents("H-0002"));
}

void widen(Event& event) { someGrip(event).mutable_edge_width_mm()->set_value(4e9); }

}  // namespace

TEST_CASE("foreign event: all that is measured can be so, however finely and whatever it is") {
  MeasureOptions fine;
  fine.rotation_step_deg = 1;
  fine.slice_mm = 0.1;
  Event event;
  for (const ExactHold& hold :
       {edgeHold({}), domeHold(60, 30), pinchHold(40, 10, 50, 90, 4), pocketHold(40, 30, 25, 4)}) {
    CAPTURE(hold.name);
    *event.mutable_scanned()->mutable_shape() = measured(hold, 4, fine);
    CHECK(untruthIn(event) == "");
    TriangleMesh large = meshSdf(hold.solid, hold.box_mm, 6);
    const double scale = 2990 / (hold.box_mm.sizes().maxCoeff() + 12);
    for (Eigen::Vector3d& v : large.vertices_mm) v *= scale;
    Shape& shape = *event.mutable_scanned()->mutable_shape();
    shape = measureShape(large);
    CHECK(shape.longest_extent_mm().value() > 1500);
    *event.mutable_scanned()->mutable_grip_map() = makeGripMap(GripModel(shape));
    CHECK(untruthIn(event) == "");
  }
}

TEST_CASE("foreign event: what older programs stored can be so") {
  for (const char* version : {"v1", "v2"}) {
    TempFolder folder;
    std::filesystem::copy(std::string(HOLDSHELF_SOURCE_DIR "/testdata/libraries/") + version,
                          folder / "l", std::filesystem::copy_options::recursive);
    int events = 0;
    Library::open(folder / "l").forEachEvent([&](const Event& event) {
      ++events;
      CHECK(untruthIn(event) == "");
    });
    CHECK(events > 3);
  }
}

TEST_CASE("foreign event: what is no number, or one that no hold has, is named by its place") {
  CHECK(untruthAfter([](Event&) {}) == "");
  CHECK(untruthAfter(widen) ==
        "scanned.shape.grips[3].edgeWidthMm.value is 4e+09, and no hold is larger than 3 m");
  CHECK(untruthAfter([](Event& e) { someGrip(e).set_rotation_deg(std::nan("")); }) ==
        "scanned.shape.grips[3].rotationDeg is no number");
  const std::vector<std::function<void(Event&)>> changes = {
      [](Event& e) { someGrip(e).mutable_edge_depth_mm()->set_sigma(INFINITY); },
      [](Event& e) { someGrip(e).set_offset_mm(-7000); },
      [](Event& e) { someGrip(e).set_fingers(-1); },
      [](Event& e) { someGrip(e).set_fingers(std::numeric_limits<int>::max()); },
      [](Event& e) { someGrip(e).add_run()->set_offset_mm(1e7); },
      [](Event& e) { someGrip(e).mutable_lip_centre_mm()->set_x(1e9); },
      [](Event& e) { someGrip(e).set_rotation_deg(1e6); },
      [](Event& e) {
        for (int i = 0; i < 500; ++i) someGrip(e).add_run();
      },
      [](Event& e) {
        for (int i = 0; i < 4000; ++i) e.mutable_scanned()->mutable_shape()->add_sections();
      },
      [](Event& e) {
        Section& section = *e.mutable_scanned()->mutable_shape()->mutable_sections(0);
        section.mutable_points_mm(1)->set_y(std::nan(""));
      },
      [](Event& e) { e.mutable_scanned()->mutable_shape()->mutable_volume_mm3()->set_value(1e15); },
      [](Event& e) { e.mutable_scanned()->mutable_colour()->set_l(1e300); },
      [](Event& e) { e.mutable_scanned()->mutable_report()->set_reprojection_rms_px(INFINITY); },
      [](Event& e) { e.mutable_scanned()->mutable_grip_map()->set_rotations(-72); },
      [](Event& e) { e.add_words()->set_from_deg(-INFINITY); },
      [](Event& e) {
        for (int i = 0; i < 2000; ++i) e.add_words();
      },
      [](Event& e) {
        const Scan scan = e.scanned();
        *e.mutable_created()->add_scans() = scan;
        e.mutable_created()->mutable_scans(0)->mutable_shape()->mutable_grips(0)->set_offset_mm(
            9e9);
      },
      [](Event& e) { e.mutable_created()->add_scans()->set_id("scan"); },
      [](Event& e) { e.mutable_moved()->set_status(static_cast<Status>(77)); },
      [](Event& e) { e.mutable_moved()->set_rotation_deg(std::nan("")); },
      [](Event& e) { e.mutable_edited()->set_count(std::numeric_limits<int>::max()); },
      [](Event& e) { e.mutable_climb()->mutable_added()->set_pieces(-4); },
      [](Event& e) {
        e.mutable_climb()->mutable_placed()->mutable_placement()->set_wall_angle_deg(INFINITY);
      },
      [](Event& e) { e.set_number(-1); },
      [](Event& e) { e.mutable_gym()->add_zones()->set_name("a zone without panels"); }};
  for (std::size_t i = 0; i < changes.size(); ++i) {
    CAPTURE(i);
    CHECK(untruthAfter(changes[i]) != "");
  }
}

TEST_CASE("foreign event: a merge and an import with one are refused whole, and say where it is") {
  TempFolder folder;
  Library theirs = Library::openOrCreate(folder / "theirs");
  fillWithUntruth(theirs, widen);
  exportLibrary(theirs, folder / "exported", {});
  Library ours = Library::openOrCreate(folder / "ours");
  for (const bool dry_run : {true, false}) {
    CHECK_THROWS_WITH_AS(mergeInto(ours, mergeSourceOf(theirs), dry_run, {}),
                         doctest::Contains("Nothing of theirs was taken in: what it says of H-0001 "
                                           "at 2031-03-01T18:01:00.000Z cannot be so"),
                         BadInput);
    CHECK_THROWS_WITH_AS(importFolder(ours, folder / "exported", dry_run, {}),
                         doctest::Contains("grips[3].edgeWidthMm.value is 4e+09"), BadInput);
  }
  CHECK(ours.size() == 0);
  CHECK(ours.lastEvent() == 0);
  CHECK(ours.blobs().names().empty());
}

TEST_CASE("foreign event: a library with one is not transferred, and none of it") {
  TempFolder folder;
  Library from = Library::openOrCreate(folder / "from");
  from.commit(edgeEvents("H-0003"));
  fillWithUntruth(from, widen);
  Library to = Library::openOrCreate(folder / "to");
  CHECK_THROWS_WITH_AS(transferLibrary(from, to, {}), doctest::Contains("of H-0001 at 2031"),
                       BadInput);
  CHECK(to.size() == 0);
  CHECK(to.blobs().names().empty());
}

TEST_CASE(
    "foreign event: one that is in a library already is named, and stops neither repair, "
    "search nor a verdict") {
  const std::vector<std::function<void(Event&)>> changes = {
      widen,
      [](Event& e) {  // Every second step, as no widening joins them.
        Shape& shape = *e.mutable_scanned()->mutable_shape();
        shape.clear_grips();
        shape.clear_sections();
        for (int step = 0; step < 72; step += 2) {
          shape.add_grips()->set_rotation_deg(5 * step);
          Section& section = *shape.add_sections();
          section.set_rotation_deg(5 * step);
          section.add_points_mm();
          section.add_points_mm()->set_x(1e8);
        }
      },
      [](Event& e) { someGrip(e).set_rotation_deg(std::nan("")); },
      [](Event& e) {
        e.mutable_scanned()->mutable_shape()->mutable_protrusion_mm()->set_value(std::nan(""));
      },
      [](Event& e) {
        for (const double offset : {-4e9, 4e9}) someGrip(e).add_run()->set_offset_mm(offset);
      }};
  for (std::size_t i = 0; i < changes.size(); ++i) {
    CAPTURE(i);
    TempFolder folder;
    {
      Library library = Library::openOrCreate(folder.path());
      fillWithUntruth(library, changes[i]);
      library.checkpoint();
    }
    for (const char* name : {"holdshelf.sqlite", "holdshelf.sqlite-wal", "holdshelf.sqlite-shm"})
      std::filesystem::remove(folder / name);
    const CheckReport report = checkLibrary(folder.path(), true, {});
    CHECK(report.repaired());
    CHECK(report.holds() == 2);
    REQUIRE(report.remarks_size() == 1);
    CHECK(report.remarks(0).starts_with("Event 2 says of H-0001 what cannot be so: scanned."));
    CHECK(checkLibrary(folder.path(), false, {}).faults().empty());
    const Library library = Library::open(folder.path());
    CHECK(SearchIndex(library).size() == 2);
    const Scan scan = library.currentFullScan("H-0001");
    const GripModel model(scan.shape());
    CHECK_FALSE(verdictAt(model, {}).sentence().empty());
  }
}
