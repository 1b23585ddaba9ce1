// SPDX-License-Identifier: Apache-2.0
#include <doctest/doctest.h>

#include "catalog/ask.h"
#include "catalog/find.h"
#include "catalog/hold_record.h"
#include "catalog/lip_probe.h"
#include "catalog/query_line.h"
#include "catalog/query_text.h"
#include "catalog/search_row.h"
#include "mesh/bad_input.h"
#include "tests/catalog/search_holds.h"
#include "tests/catalog/temp_folder.h"

using namespace holdshelf;
using namespace holdshelf::test;

namespace {

/// A hold whose one edge, at some rotations, has the lip of these numbers, with its section.
Hold lipHold(const std::string& id, double radius_mm, double incut_deg, double protrusion_mm,
             const char* colour = "red") {
  Hold hold;
  hold.set_id(id);
  hold.set_status(SHELF);
  hold.mutable_colour()->set_name(colour);
  Shape& shape = *hold.add_scans()->mutable_shape();
  shape.mutable_protrusion_mm()->set_value(protrusion_mm);
  const SectionPath path = lipOfNumbers(radius_mm, incut_deg, 25);
  for (const double rotation_deg : {90.0, 95.0}) {
    Grip& grip = *shape.add_grips();
    grip.set_rotation_deg(rotation_deg);
    grip.mutable_edge_depth_mm()->set_value(25);
    grip.mutable_lip_radius_mm()->set_value(radius_mm);
    grip.mutable_incut_deg()->set_value(incut_deg);
    grip.set_lip_sweep_deg(90 + incut_deg);
    grip.mutable_lip_centre_mm()->set_y(30 - radius_mm);
    grip.set_lip_z_mm(30);
    Section& section = *shape.add_sections();
    section.set_rotation_deg(rotation_deg);
    for (const auto& p : path) {
      Point2& point = *section.add_points_mm();
      point.set_x(p.x());
      point.set_y(p.y() + 30);
    }
  }
  return hold;
}

std::vector<Hold> someHolds() {
  return {lipHold("H-0001", 5, 10, 60), lipHold("H-0002", 5.5, 8, 25),
          lipHold("H-0003", 12, -20, 20), lipHold("H-0004", 5, 10, 45, "blue")};
}

}  // namespace

TEST_CASE("find by lip: the swap that keeps the lip and lowers the profile") {
  const SearchIndex index(someHolds());
  const FindResult all = index.find(queryOf("lip like H-0001"));
  CHECK(idsOf(all) == Ids{"H-0004", "H-0002", "H-0003"});
  CHECK(all.matched() == 3);
  CHECK(all.hits(0).lip().gap_mm() < 0.02);
  CHECK(all.hits(0).lip().from_deg() == 90);
  CHECK(all.hits(0).lip().to_deg() == 95);
  CHECK(all.hits(1).lip().gap_mm() < all.hits(2).lip().gap_mm());
  CHECK(all.hits(1).lip().wanted_mm_size() == all.hits(1).lip().found_mm_size());
  CHECK(idsOf(index.find(queryOf("lip like H-0001, protrusion at most 30"))) ==
        Ids{"H-0002", "H-0003"});
  CHECK(idsOf(index.find(queryOf("lip like H-0001, red, within 1 mm"))) == Ids{"H-0002"});
  CHECK(idsOf(index.find(queryOf("lip like H-0001, incut under 0"))) == Ids{"H-0003"});
  CHECK(idsOf(index.find(queryOf("lip like H-0001, turned 0..80"))).empty());
  CHECK(idsOf(index.find(queryOf("lip like H-0001, turned 0..80, pulled -10"))).size() == 3);
  CHECK(idsOf(index.find(queryOf("lip like H-0001, sorted by protrusion"))) ==
        Ids{"H-0003", "H-0002", "H-0004"});
}

TEST_CASE("find by lip: by numbers and by a drawn line") {
  const SearchIndex index(someHolds());
  CHECK(idsOf(index.find(queryOf("lip shaped radius 12 incut -20 depth 25")))[0] == "H-0003");
  Query query;
  std::string drawn = "# mm from the wall, mm up\n";
  for (const auto& p : lipOfNumbers(12, -20, 25))
    drawn += std::to_string(p.y()) + ", " + std::to_string(p.x()) + "\n";
  setDrawnLip(*query.mutable_lip(), drawn, "lip.txt");
  const FindResult result = index.find(query);
  CHECK(idsOf(result)[0] == "H-0003");
  CHECK(result.hits(0).lip().gap_mm() < 0.1);  // Half a step of 0.25 mm along the line.
  const Plot plot = overlayPlot(query, result.hits(0));
  CHECK(plot.svg.find("<svg") != std::string::npos);
  CHECK(plot.png.substr(1, 3) == "PNG");
}

TEST_CASE("find by lip: nothing found says which limit excludes") {
  const SearchIndex index(someHolds());
  const FindResult far = index.find(queryOf("lip like H-0003, within 0.5 mm"));
  CHECK(far.matched() == 0);
  REQUIRE(far.nearest_misses_size() == 3);
  CHECK(far.nearest_misses(0).excluded_by(0).find("mm apart, not 0.50 mm or less") !=
        std::string::npos);
  CHECK(far.explanation().find("without \"lip within 0.50 mm\" 3 holds") != std::string::npos);
  const FindResult none = index.find(queryOf("lip like H-0001, protrusion at most 10"));
  REQUIRE(none.nearest_misses_size() == 3);
  CHECK(none.nearest_misses(0).id() == "H-0003");
  CHECK(none.nearest_misses(0).excluded_by(0) == "protrusion 20 mm, not 10 mm or less");
  CHECK(none.nearest_misses(0).has_lip());
  CHECK_THROWS_AS(index.find(queryOf("lip like H-0009")), BadInput);
}

TEST_CASE("search rows: lips and mountings come through a library, and stay when a hold moves") {
  TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  commitHolds(library, someHolds());
  Event moved;
  moved.set_hold("H-0004");
  moved.mutable_moved()->set_status(WALL);
  library.commit({moved});
  const FindResult result = ask(library, SearchIndex(library), "lip like H-0001");
  CHECK(idsOf(result) == Ids{"H-0004", "H-0002", "H-0003"});
  CHECK(result.hits(0).status() == WALL);
}
