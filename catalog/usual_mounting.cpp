// SPDX-License-Identifier: Apache-2.0
#include "catalog/usual_mounting.h"

#include <cmath>
#include <map>
#include <utility>

namespace holdshelf {

std::optional<Mounting> usualMounting(const std::vector<Event>& events) {
  std::map<std::pair<long, long>, int> times;
  std::pair<long, long> most{0, 0};
  for (const Event& event : events) {
    const Move& move = event.moved();
    if (!event.has_moved() || move.status() != WALL || !move.has_rotation_deg()) continue;
    const std::pair<long, long> mounting{std::lround(move.rotation_deg()),
                                         std::lround(move.wall_angle_deg())};
    // Of two as frequent ones the later.
    if (++times[mounting] >= times[most]) most = mounting;
  }
  if (times.empty()) return std::nullopt;
  Mounting usual;
  usual.rotation_deg = static_cast<double>(most.first);
  usual.wall_angle_deg = static_cast<double>(most.second);
  return usual;
}

}  // namespace holdshelf
