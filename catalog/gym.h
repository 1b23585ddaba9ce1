// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>
#include <string>

#include "catalog/library.h"
#include "proto/climb.pb.h"
#include "proto/gym.pb.h"

namespace holdshelf {

/// The walls as last described; an empty Gym where they never were.
Gym gymOf(const Library& library);

/// Stores the description as one event: earlier ones stay in the history.
/// @throws BadInput  validateGym refuses it, or it leaves out a zone or panel with a climb that is
///                   not stripped; nothing is stored.
void describeGym(Library& library, const Gym& gym);

/// What can be set for the whole gym, with the defaults put in where it says 0.
Gym withDefaults(Gym gym);

/// @throws BadInput  A value no wall has, a name twice or missing; the sentence says where.
void validateGym(const Gym& gym);

/// @throws BadInput  There is no such zone; the sentence lists those there are.
const Zone& zoneNamed(const Gym& gym, const std::string& name);
/// The panel; with an empty name the zone's only one.
/// @throws BadInput  There is none, or the name is needed because there are several.
const WallPanel& panelNamed(const Zone& zone, const std::string& name);
/// Makes room for a zone or panel of that name, or gives the one there is.
Zone& zoneToEdit(Gym& gym, const std::string& name);
WallPanel& panelToEdit(Zone& zone, const std::string& name);

/// Whether a bolt that fits the one fits the other: thickness, T-nut and thread are equal.
bool sameFixing(const Panel& a, const Panel& b);

/// The zone's wall angle that suggestions are made for: of the panel with most T-nuts.
const WallPanel& mainPanel(const Zone& zone);

/// A top edge above a placement, and how far.
struct NearTop {
  const WallFeature* feature = nullptr;
  double below_mm = 0;  ///< From the T-nut up to the edge, along the panel; may be negative.
};
/// The top edge within gym.near_top_mm of the T-nut, the nearest; nullopt when none is, or when the
/// placement names no T-nut.
std::optional<NearTop> nearTop(const Gym& gym, const WallPanel& panel, const Placement& placement);

/// The panel's highest top edge; nullptr where it has none.
const WallFeature* topEdgeOf(const WallPanel& panel);

/// @throws BadInput  The panel has no such T-nut.
void checkTnut(const WallPanel& panel, int column, int row);

/// The description as people read it.
std::string gymText(const Gym& gym);

}  // namespace holdshelf
