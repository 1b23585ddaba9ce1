// SPDX-License-Identifier: Apache-2.0
#include "catalog/grip_areas.h"

#include <algorithm>
#include <utility>

#include "catalog/grip_map.h"
#include "mesh/bad_input.h"

namespace holdshelf {

WordCells wordCells(const GripMap& map, const GripThresholds& t) {
  const char* other_version =
      "This grip map is of another version; measure the hold again to renew it.";
  if (!lookUp(map, {})) throw BadInput(other_version);
  WordCells cells(static_cast<std::size_t>(map.wall_angles()));
  for (int w = 0; w < map.wall_angles(); ++w)
    for (int r = 0; r < map.rotations(); ++r) {
      const auto stored =
          lookUp(map, {r * 360.0 / map.rotations(),
                       map.first_wall_angle_deg() + w * map.wall_angle_step_deg(), 0});
      if (!stored) throw BadInput(other_version);
      const bool foot = stored->reach <= t.too_grabbable && stored->toe >= t.toe_fraction;
      cells[static_cast<std::size_t>(w)].push_back(foot ? WordCell{GripKind::FootOnly, stored->toe}
                                                        : WordCell{stored->kind, stored->hand});
    }
  return cells;
}

std::vector<GripArea> gripAreas(const WordCells& cells) {
  const int rings = static_cast<int>(cells.size()), turns = static_cast<int>(cells[0].size());
  std::vector<std::vector<bool>> seen(cells.size(), std::vector<bool>(cells[0].size(), false));
  std::vector<GripArea> areas;
  const auto cell = [&](int w, int r) -> const WordCell& {
    return cells[static_cast<std::size_t>(w)][static_cast<std::size_t>(r)];
  };
  for (int w = 0; w < rings; ++w)
    for (int r = 0; r < turns; ++r) {
      const GripKind kind = cell(w, r).kind;
      if (kind == GripKind::None) continue;
      std::vector<std::array<int, 2>> open{{w, r}};
      GripArea area{kind, 0, {}};
      while (!open.empty()) {
        const auto [v, s] = open.back();
        open.pop_back();
        if (v < 0 || v >= rings || cell(v, s).kind != kind) continue;
        auto mark = seen[static_cast<std::size_t>(v)].begin() + s;
        if (*mark) continue;
        *mark = true;
        area.cells.push_back({v, s});
        area.strongest = std::max(area.strongest, cell(v, s).fraction);
        for (const auto& next :
             {std::array{v + 1, s}, std::array{v - 1, s}, std::array{v, (s + 1) % turns},
              std::array{v, (s + turns - 1) % turns}})
          open.push_back(next);
      }
      if (!area.cells.empty()) areas.push_back(std::move(area));
    }
  return areas;
}

}  // namespace holdshelf
