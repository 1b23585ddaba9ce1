// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "capture/seat_sweep.h"
#include "capture/view.h"
#include "mesh/isosurface.h"
#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// A recess that a bolt's head lies in, as photos show it.
struct BoltRecess {
  Recess recess;
  std::optional<SeatFloor> floor;  ///< Unset: the photos do not show the floor.
};

/// Round, steep recesses in a surface fused from photos, without their floors: what no photo
/// measured is solid there, so a deep recess ends in a cone of leftovers. Frame H, mm.
std::vector<Recess> findRecesses(const TriangleMesh& mesh);

/// Recesses with the floors that the photos show (capture/seat_sweep.h).
std::vector<BoltRecess> findBoltRecesses(const TriangleMesh& mesh, const std::vector<View>& views);

/// Cuts recesses with a known floor into a signed distance (mm, negative inside).
void carveRecesses(VoxelGrid& grid, const std::vector<BoltRecess>& recesses);

/// Lays the floors of carved recesses flat at the height that was found, with its uncertainty;
/// what fewer than two photos see of a floor is marked as guesswork.
void settleFloors(TriangleMesh& mesh, const std::vector<BoltRecess>& recesses,
                  const std::vector<View>& views);

/// For a stage store (capture/stage_store.h).
std::string storedRecesses(const std::vector<BoltRecess>& recesses);
/// nullopt: not what storedRecesses wrote.
std::optional<std::vector<BoltRecess>> restoredRecesses(const std::string& bytes);

}  // namespace holdshelf
