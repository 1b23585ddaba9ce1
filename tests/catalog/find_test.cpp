// SPDX-License-Identifier: Apache-2.0
#include "catalog/find.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <set>

#include "catalog/grip_model.h"
#include "catalog/query_text.h"
#include "mesh/bad_input.h"
#include "mesh/measure_shape.h"
#include "tests/catalog/search_holds.h"
#include "tests/catalog/temp_folder.h"
#include "tests/shapes/holds.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using namespace holdshelf::test;

TEST_CASE("find: limits on an edge hold at one and the same rotation") {
  const SearchIndex index(threeHolds());
  CHECK(idsOf(index.find(ranges({{"edge-depth", "20.."}, {"incut", "5.."}}))) == Ids{"H-0002"});
  CHECK(idsOf(index.find(ranges({{"edge-depth", "20.."}}))) == Ids{"H-0001", "H-0002", "H-0003"});
  const FindResult result = index.find(ranges({{"edge-depth", "12..16"}}));
  REQUIRE(result.hits_size() == 1);
  CHECK(result.hits(0).rotation_deg() == 0);
  Query turned = ranges({{"edge-depth", "20.."}});
  setRotation(turned, "60..120");
  CHECK(idsOf(index.find(turned)) == Ids{"H-0001"});
}

TEST_CASE("find: with nothing asked of the edge, the one shown is where the hold holds most") {
  // A ledge of 22 mm, 12 degrees incut, whose end, turned up, is deeper and flat.
  const ExactHold ledge = holdNamed("ledge");
  const Shape shape = measureShape(meshSdf(ledge.solid, ledge.box_mm, 1));
  Hold hold = makeHold("H-0001", "#be0032", 44);
  Scan& scan = *hold.mutable_scans(0);
  *scan.mutable_shape() = shape;
  *scan.mutable_grip_map() = makeGripMap(GripModel(shape));
  const auto best = bestHand(scan.grip_map(), {});
  REQUIRE(best);
  const SearchIndex index({hold});
  const auto depthOf = [](const FindHit& hit) {
    for (const FoundNumber& n : hit.numbers())
      if (n.number() == "edge-depth") return n.value();
    return 0.0;
  };
  const FindHit shown = index.find({}).hits(0),
                deepest = index.find(ranges({{"edge-depth", "0.."}})).hits(0);
  CHECK(std::abs(std::remainder(shown.rotation_deg() - best->rotation_deg, 360)) <= 10);
  CHECK(depthOf(shown) == doctest::Approx(22).epsilon(0.02));  // As built.
  CHECK(depthOf(deepest) > 35);
  Query sorted;
  sorted.set_sort("-edge-depth");
  CHECK(depthOf(index.find(sorted).hits(0)) == depthOf(deepest));
}

TEST_CASE("find: ends of a range belong to it") {
  const SearchIndex index(threeHolds());
  CHECK(idsOf(index.find(ranges({{"edge-depth", "14..14"}}))) == Ids{"H-0001"});
  CHECK(idsOf(index.find(ranges({{"protrusion", "..30"}}))) == Ids{"H-0001"});
  CHECK(idsOf(index.find(ranges({{"protrusion", "60.."}}))) == Ids{"H-0003"});
  CHECK(index.find(ranges({{"edge-depth", "14.1..14.4"}})).matched() == 0);
}

TEST_CASE("find: colours, patches, words through zero, sorting") {
  const SearchIndex index(threeHolds());
  Query red;
  red.add_colours("red");
  red.set_sort("-protrusion");
  CHECK(idsOf(index.find(red)) == Ids{"H-0003", "H-0001"});
  red.set_limit(1);
  CHECK(index.find(red).matched() == 2);
  CHECK(idsOf(index.find(red)) == Ids{"H-0003"});

  Query patch;
  const Lab lab = labFromHex("#0048c0");
  for (const double value : {lab.L, lab.a, lab.b}) patch.add_lab(value);
  CHECK(idsOf(index.find(patch)) == Ids{"H-0002"});

  Query edge;
  edge.add_words("edge");
  CHECK(idsOf(index.find(edge)) == Ids{"H-0002"});
  setRotation(edge, "10..15");  // 340 to 380 covers it.
  CHECK(index.find(edge).matched() == 1);
  setRotation(edge, "30..90");
  CHECK(index.find(edge).matched() == 0);
}

TEST_CASE("find: a hold whose colour nobody measured is near no patch, and says so") {
  const Hold hold = blackBySight();
  const Query query = nearBlack();
  const FindResult result = SearchIndex(std::vector<Hold>{hold}).find(query);
  CHECK(result.matched() == 0);
  REQUIRE(result.nearest_misses_size() == 1);
  CHECK(result.nearest_misses(0).excluded_by(0) == "has no measured colour");
}

TEST_CASE("find: retired holds only when asked for") {
  auto holds = threeHolds();
  holds[0].set_status(RETIRED);
  const SearchIndex index(holds);
  CHECK(index.find({}).matched() == 2);
  Query retired;
  retired.add_statuses(RETIRED);
  CHECK(idsOf(index.find(retired)) == Ids{"H-0001"});
}

TEST_CASE("find: nothing found names the nearest misses and the limit that excludes them") {
  const SearchIndex index(threeHolds());
  Query query = ranges({{"edge-depth", "20..24"}});
  query.add_colours("red");
  const FindResult result = index.find(query);
  CHECK(result.matched() == 0);
  REQUIRE(result.nearest_misses_size() == 3);
  // H-0001 has a 25 mm edge: 1 mm out, half of the small difference of 2 mm. H-0002 is blue (3).
  CHECK(result.nearest_misses(0).id() == "H-0001");
  REQUIRE(result.nearest_misses(0).excluded_by_size() == 1);
  CHECK(result.nearest_misses(0).excluded_by(0) == "edge depth 25 mm, not 20 mm to 24 mm");
  CHECK(result.nearest_misses(1).id() == "H-0002");
  CHECK(result.explanation() ==
        "None of 3 holds matches: without \"edge depth 20 mm to 24 mm\" 2 holds; without \"colour "
        "red\" 1 hold.");
  CHECK(SearchIndex(std::vector<Hold>{}).find(query).explanation() ==
        "The library is empty: put a hold in with holdshelf intake.");
}

TEST_CASE("find: what cannot be asked") {
  const SearchIndex index(threeHolds());
  Query query;
  query.set_sort("beauty");
  CHECK_THROWS_AS(index.find(query), BadInput);
  query.clear_sort();
  query.add_ranges()->set_number("beauty");
  CHECK_THROWS_AS(index.find(query), BadInput);
}

TEST_CASE("find: no more limits of one kind than somebody asks for") {
  const SearchIndex index;
  Query query;
  for (int i = 0; i < 100; ++i) query.add_words("crimp");
  CHECK_NOTHROW(index.find(query));
  query.add_words("jug");
  CHECK_THROWS_WITH_AS(index.find(query), doctest::Contains("up to 100"), BadInput);
  Query ranges;
  for (int i = 0; i < 101; ++i) ranges.add_ranges()->set_number("protrusion");
  CHECK_THROWS_AS(index.find(ranges), BadInput);
}

TEST_CASE("find: agrees with reading the messages one by one, also from a library") {
  std::mt19937 random(77);
  std::uniform_real_distribution<double> uniform(0, 1);
  std::vector<Hold> holds;
  for (int i = 0; i < 200; ++i) {
    holds.push_back(makeHold("H-" + std::to_string(i), "#be0032", 20 + 60 * uniform(random)));
    const int edges = static_cast<int>(random() % 6);
    for (int e = 0; e < edges; ++e)
      addGrip(holds.back(), 5 * (random() % 72), 40 * uniform(random), 20 * uniform(random),
              60 * uniform(random) - 30);
  }
  TempFolder folder;
  Library library = Library::openOrCreate(folder.path());
  commitHolds(library, holds);
  const SearchIndex stored(library), direct(holds);
  for (int trial = 0; trial < 50; ++trial) {
    const double depth = 40 * uniform(random), incut = 40 * uniform(random) - 30;
    Query query = ranges({{"protrusion", "30..70"}});
    Range& depths = *query.add_ranges();
    depths.set_number("edge-depth");
    depths.set_from(depth);
    depths.set_to(depth + 8);
    Range& incuts = *query.add_ranges();
    incuts.set_number("incut");
    incuts.set_from(incut);
    std::set<std::string> sure, possible;  // Values are kept in steps of 0.02.
    for (const Hold& hold : holds) {
      const Shape& shape = hold.scans(0).shape();
      const auto fits = [&](double slack) {
        const double p = shape.protrusion_mm().value();
        return p >= 30 - slack && p <= 70 + slack &&
               std::any_of(shape.grips().begin(), shape.grips().end(), [&](const Grip& g) {
                 return g.edge_depth_mm().value() >= depth - slack &&
                        g.edge_depth_mm().value() <= depth + 8 + slack &&
                        g.incut_deg().value() >= incut - slack;
               });
      };
      if (fits(-0.001)) sure.insert(hold.id());
      if (fits(0.025)) possible.insert(hold.id());
    }
    CAPTURE(trial);
    for (const SearchIndex* index : {&stored, &direct}) {
      const auto ids = idsOf(index->find(query));
      const std::set<std::string> found(ids.begin(), ids.end());
      CHECK(std::includes(found.begin(), found.end(), sure.begin(), sure.end()));
      CHECK(std::includes(possible.begin(), possible.end(), found.begin(), found.end()));
    }
  }
}
