// SPDX-License-Identifier: Apache-2.0
#include "catalog/wish_fit.h"

#include <algorithm>

#include "catalog/gym.h"

namespace holdshelf {
namespace {

constexpr int kSteps = 72;
constexpr double kStep_deg = 5;

WishFit bestOn(const WallPanel& panel, const Wish& wish, const Scan& scan,
               const MountingMiss& missOf) {
  WishFit best;
  best.panel = &panel;
  for (int step = 0; step < kSteps; ++step) {
    const double rotation_deg = step * kStep_deg;
    const auto miss = missOf(rotation_deg, panel.wall_angle_deg());
    const auto cell = lookUp(scan.grip_map(), {rotation_deg, panel.wall_angle_deg(), 0});
    if (!miss || !cell || *miss > best.miss + 1e-9) continue;
    const double force = wish.grip() == "foot-only" ? cell->toe * (1 - cell->reach) : cell->hand;
    if (*miss > best.miss - 1e-9 && force <= best.force) continue;
    best = {*miss, rotation_deg, force, *cell, &panel};
  }
  return best;
}

}  // namespace

std::vector<const WallPanel*> panelsToTry(const Zone& zone) {
  std::vector<const WallPanel*> panels = {&mainPanel(zone)};
  for (const WallPanel& panel : zone.panels())
    if (std::none_of(panels.begin(), panels.end(), [&](const WallPanel* other) {
          return other->wall_angle_deg() == panel.wall_angle_deg();
        }))
      panels.push_back(&panel);
  return panels;
}

std::vector<WishFit> wishFits(const std::vector<const WallPanel*>& panels, const Wish& wish,
                              const Scan& scan, const MountingMiss& miss) {
  std::vector<WishFit> fits;
  for (const WallPanel* panel : panels) fits.push_back(bestOn(*panel, wish, scan, miss));
  std::stable_sort(fits.begin(), fits.end(),
                   [](const WishFit& a, const WishFit& b) { return a.miss < b.miss - 1e-9; });
  return fits;
}

}  // namespace holdshelf
