// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "catalog/climbs.h"
#include "catalog/gym.h"
#include "catalog/library.h"
#include "mesh/bad_input.h"
#include "proto/climb.pb.h"
#include "proto/gym.pb.h"

namespace holdshelf::test {

// A gym, holds and wishes for tests of what setters do in a night.

/// A roof of 10 by 8 T-nuts in the zone "cave", with an edge that can be topped out over.
inline Gym caveGym(int columns = 10, int rows = 8) {
  Gym gym;
  WallPanel& p = panelToEdit(zoneToEdit(gym, "cave"), "roof");
  p.set_wall_angle_deg(35);
  p.mutable_fixing()->set_thread(M10);
  p.mutable_fixing()->set_panel_mm(18);
  p.mutable_fixing()->set_barrel_mm(11);
  p.mutable_fixing()->set_flange_mm(1.5);
  p.set_columns(columns);
  p.set_rows(rows);
  p.set_pitch_mm(200);
  WallFeature& top = *p.add_features();
  top.set_name("lip of the cave");
  top.set_kind(WallFeature::TOP_EDGE);
  top.set_at_mm(1600);
  return gym;
}

/// A hold on the shelf with a flat bolt seat.
inline void addHold(Library& library, const std::string& id, const std::string& bin,
                    double seat_mm = 22) {
  Event created;
  created.set_hold(id);
  created.mutable_created()->set_name("hold " + id);
  created.mutable_created()->set_bin(bin);
  created.mutable_created()->set_status(SHELF);
  Event scanned;
  scanned.set_hold(id);
  scanned.mutable_scanned()->set_id("s" + id);
  BoltSeat& seat = *scanned.mutable_scanned()->mutable_shape()->add_bolt_seats();
  seat.set_kind(BoltSeat::FLAT);
  seat.mutable_seat_height_mm()->set_value(seat_mm);
  library.commit({created, scanned});
}

inline Climb wanted(const std::string& name) {
  Climb climb;
  climb.set_name(name);
  climb.set_zone("cave");
  climb.set_setter("Maren");
  return climb;
}

inline Placement at(int column, int row, double rotation_deg = 0) {
  Placement p;
  p.set_column(column);
  p.set_row(row);
  p.set_rotation_deg(rotation_deg);
  return p;
}

/// The sentence of a refused operation; empty when it was not refused.
template <typename Run>
std::string refusal(Run run) {
  try {
    run();
  } catch (const BadInput& refused) {
    return refused.what();
  }
  return "";
}

}  // namespace holdshelf::test
