// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <vector>

#include "mesh/pinch_cut.h"
#include "mesh/searched_mesh.h"
#include "proto/shape.pb.h"

namespace holdshelf {

/// Finds the opposed faces that thumb and fingers can close on, for closing directions every 5
/// degrees in the wall plane: pinches in sections along the direction (pinch_cut.h), joined
/// sideways. The best first (usable height and length over width), at most six, no two alike.
std::vector<Pinch> findPinches(const SearchedMesh& source, const PinchOptions& options = {});

}  // namespace holdshelf
