// SPDX-License-Identifier: Apache-2.0
#include "mesh/searched_mesh.h"

namespace holdshelf {

bool SearchedMesh::isFilled(const Eigen::Vector2d& place_mm) const {
  for (const FilledDisc& disc : filled)
    if ((place_mm - disc.centre_mm).norm() < disc.radius_mm) return true;
  return false;
}

}  // namespace holdshelf
