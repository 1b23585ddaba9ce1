// SPDX-License-Identifier: Apache-2.0
#include "catalog/platform.h"

#include <algorithm>
#include <limits>

#include "catalog/lip_contact.h"

namespace holdshelf {

Platform platformOf(const Grip& grip, double wall_angle_deg, const HandModel& hand,
                    const GripThresholds& t) {
  const LipProfile profile = profileOf(grip);
  const LipContact flat =
      contactOf(profile, wall_angle_deg, t.platform_slope_deg, std::numeric_limits<double>::max());
  Platform platform;
  if (!(flat.length_mm > 0)) {
    platform.set_level("low");
    return platform;
  }
  const auto share = [](double have, double want) { return std::min(1.0, have / want); };
  platform.set_depth_mm(flat.length_mm);
  platform.set_width_mm(grip.edge_width_mm().value());
  platform.set_palm(share(platform.depth_mm(), t.platform_palm_mm) *
                    share(platform.width_mm(), hand.hand_breadth_mm));
  platform.set_heel(share(platform.depth_mm(), t.platform_heel_mm) *
                    share(platform.width_mm(), t.platform_heel_mm));
  const double best = std::max(platform.palm(), platform.heel());
  platform.set_level(best < t.platform_low ? "low" : best < t.platform_high ? "some" : "high");
  return platform;
}

}  // namespace holdshelf
