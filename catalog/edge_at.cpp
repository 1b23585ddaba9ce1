// SPDX-License-Identifier: Apache-2.0
#include "catalog/edge_at.h"

#include "catalog/mounting.h"

namespace holdshelf {

const Grip* edgeAt(const Shape& shape, double rotation_deg) {
  const Grip* best = nullptr;
  for (const Grip& grip : shape.grips())
    if (angleBetween_deg(grip.rotation_deg(), rotation_deg) <= 2.5 &&
        (best == nullptr || grip.edge_depth_mm().value() > best->edge_depth_mm().value()))
      best = &grip;
  return best;
}

}  // namespace holdshelf
