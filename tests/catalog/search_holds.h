// SPDX-License-Identifier: Apache-2.0
// Holds as search reads them, of a few numbers each, and what the tests of search ask them.
#pragma once
#include <initializer_list>
#include <string>
#include <utility>
#include <vector>

#include "catalog/colour.h"
#include "catalog/library.h"
#include "catalog/query_text.h"
#include "proto/query.pb.h"

namespace holdshelf::test {

inline Grip& addGrip(Hold& hold, double rotation_deg, double depth_mm, double radius_mm,
                     double incut) {
  Grip& grip = *hold.mutable_scans(0)->mutable_shape()->add_grips();
  grip.set_rotation_deg(rotation_deg);
  grip.mutable_edge_depth_mm()->set_value(depth_mm);
  grip.mutable_lip_radius_mm()->set_value(radius_mm);
  grip.mutable_incut_deg()->set_value(incut);
  return grip;
}

inline Hold makeHold(const std::string& id, const std::string& hex, double protrusion_mm) {
  Hold hold;
  hold.set_id(id);
  hold.set_status(SHELF);
  const Lab lab = labFromHex(hex);
  hold.mutable_colour()->set_name(colourName(lab));
  hold.mutable_colour()->set_l(lab.L);
  hold.mutable_colour()->set_a(lab.a);
  hold.mutable_colour()->set_b(lab.b);
  hold.add_scans()->mutable_shape()->mutable_protrusion_mm()->set_value(protrusion_mm);
  return hold;
}

inline std::vector<Hold> threeHolds() {
  std::vector<Hold> holds = {makeHold("H-0001", "#be0032", 30), makeHold("H-0002", "#0050c8", 45),
                             makeHold("H-0003", "#be0032", 60)};
  addGrip(holds[0], 0, 14, 3, 10);
  addGrip(holds[0], 90, 25, 12, -20);  // Deep and sloping: never both deep and incut.
  addGrip(holds[1], 0, 22, 5, 12);
  addGrip(holds[2], 0, 35, 20, 0);
  GripWord& word = *holds[1].add_words();
  word.set_word("edge");
  word.set_from_deg(340);
  word.set_to_deg(380);
  return holds;
}

inline std::vector<std::string> idsOf(const FindResult& result) {
  std::vector<std::string> ids;
  for (const FindHit& hit : result.hits()) ids.push_back(hit.id());
  return ids;
}

inline Query ranges(std::initializer_list<std::pair<const char*, const char*>> limits) {
  Query query;
  for (const auto& [number, range] : limits) *query.add_ranges() = parseRange(number, range);
  return query;
}

/// A hold on the shelf that a person called black and no photo measured.
inline Hold blackBySight() {
  Hold hold;
  hold.set_id("H-1");
  hold.set_status(SHELF);
  hold.mutable_colour()->set_name("black");
  return hold;
}

/// Holds near a black patch.
inline Query nearBlack() {
  Query query;
  for (const double value : {4.0, 0.0, 0.0}) query.add_lab(value);
  return query;
}

using Ids = std::vector<std::string>;

/// Puts the holds into a library, each as it was made and scanned.
inline void commitHolds(Library& library, const std::vector<Hold>& holds) {
  std::vector<Event> events;
  for (const Hold& hold : holds) {
    Event made, scanned;
    made.set_hold(hold.id());
    made.mutable_created()->set_status(SHELF);
    scanned.set_hold(hold.id());
    *scanned.mutable_scanned() = hold.scans(0);
    *scanned.mutable_scanned()->mutable_colour() = hold.colour();
    events.push_back(made);
    events.push_back(scanned);
  }
  library.commit(events);
}

}  // namespace holdshelf::test
