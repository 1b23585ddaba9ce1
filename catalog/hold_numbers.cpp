// SPDX-License-Identifier: Apache-2.0
#include "catalog/hold_numbers.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace holdshelf {
namespace {

using enum NumberGroup;
constexpr NumberKind kKinds[] = {
    {"protrusion", "protrusion", "mm", Hold, 0, 5},
    {"width", "footprint width", "mm", Hold, 1, 10},
    {"height", "footprint height", "mm", Hold, 2, 10},
    {"footprint", "footprint area", "cm²", Hold, 3, 10},
    {"longest", "longest extent", "mm", Hold, 4, 10},
    {"volume", "volume", "cm³", Hold, 5, 50},
    {"surface", "surface area", "cm²", Hold, 6, 20},
    {"edge-depth", "edge depth", "mm", Grip, 0, 2},
    {"edge-along", "depth along the surface", "mm", Grip, 1, 2},
    {"lip-radius", "lip radius", "mm", Grip, 2, 1},
    {"incut", "incut", "°", Grip, 3, 5},
    {"edge-width", "edge width", "mm", Grip, 4, 10},
    {"fingers", "fingers", "", Grip, 5, 1},
    {"lip-z", "lip over the wall", "mm", Grip, 6, 5},
    {"pinch-width", "pinch width", "mm", Pinch, 0, 5},
    {"pinch-taper", "pinch taper", "°", Pinch, 1, 5},
    {"pinch-height", "pinch height", "mm", Pinch, 2, 5},
    {"pinch-length", "pinch length", "mm", Pinch, 3, 10},
    {"pocket-width", "pocket width", "mm", Pocket, 0, 3},
    {"pocket-height", "pocket height", "mm", Pocket, 1, 3},
    {"pocket-depth", "pocket depth", "mm", Pocket, 2, 3},
    {"pocket-fingers", "fingers in the pocket", "", Pocket, 3, 1},
    {"seat-height", "bolt seat height", "mm", Seat, 0, 2},
    {"bore", "bolt bore", "mm", Seat, 1, 1},
};
constexpr std::array<std::size_t, kNumberGroups> kColumns = {7, 7, 4, 4, 2};

float valueOf(bool present, const Measured& measured, double scale = 1) {
  return present ? static_cast<float>(measured.value() * scale)
                 : std::numeric_limits<float>::quiet_NaN();
}

void addRow(NumberTable& table, std::initializer_list<float> values, double rotation_deg = 0) {
  for (const float value : values) table.values.push_back(value);
  table.rotation_deg.push_back(static_cast<float>(rotation_deg));
  ++table.rows;
}

}  // namespace

std::span<const NumberKind> numberKinds() { return kKinds; }

const NumberKind* numberKind(const std::string& flag) {
  const auto found = std::find_if(std::begin(kKinds), std::end(kKinds),
                                  [&](const NumberKind& kind) { return flag == kind.flag; });
  return found == std::end(kKinds) ? nullptr : found;
}

std::size_t columnCount(NumberGroup group) { return kColumns.at(static_cast<std::size_t>(group)); }

HoldNumbers holdNumbers(const Shape& shape) {
  HoldNumbers numbers;
  const auto table = [&](NumberGroup group) -> NumberTable& {
    return numbers.at(static_cast<std::size_t>(group));
  };
  addRow(table(NumberGroup::Hold),
         {valueOf(shape.has_protrusion_mm(), shape.protrusion_mm()),
          valueOf(shape.has_footprint_width_mm(), shape.footprint_width_mm()),
          valueOf(shape.has_footprint_height_mm(), shape.footprint_height_mm()),
          valueOf(shape.has_footprint_area_mm2(), shape.footprint_area_mm2(), 1e-2),
          valueOf(shape.has_longest_extent_mm(), shape.longest_extent_mm()),
          valueOf(shape.has_volume_mm3(), shape.volume_mm3(), 1e-3),
          valueOf(shape.has_surface_area_mm2(), shape.surface_area_mm2(), 1e-2)});
  for (const auto& grip : shape.grips())
    addRow(table(NumberGroup::Grip),
           {valueOf(grip.has_edge_depth_mm(), grip.edge_depth_mm()),
            valueOf(grip.has_edge_along_mm(), grip.edge_along_mm()),
            valueOf(grip.has_lip_radius_mm(), grip.lip_radius_mm()),
            valueOf(grip.has_incut_deg(), grip.incut_deg()),
            valueOf(grip.has_edge_width_mm(), grip.edge_width_mm()),
            static_cast<float>(grip.fingers()), static_cast<float>(grip.lip_z_mm())},
           grip.rotation_deg());
  for (const auto& pinch : shape.pinches())
    addRow(table(NumberGroup::Pinch),
           {valueOf(pinch.has_width_mm(), pinch.width_mm()),
            valueOf(pinch.has_taper_deg(), pinch.taper_deg()),
            valueOf(pinch.has_height_mm(), pinch.height_mm()),
            valueOf(pinch.has_length_mm(), pinch.length_mm())},
           pinch.direction_deg());
  for (const auto& pocket : shape.pockets())
    addRow(
        table(NumberGroup::Pocket),
        {valueOf(pocket.has_width_mm(), pocket.width_mm()),
         valueOf(pocket.has_height_mm(), pocket.height_mm()),
         valueOf(pocket.has_depth_mm(), pocket.depth_mm()), static_cast<float>(pocket.fingers())},
        pocket.direction_deg());
  for (const auto& seat : shape.bolt_seats())
    addRow(table(NumberGroup::Seat), {valueOf(seat.has_seat_height_mm(), seat.seat_height_mm()),
                                      valueOf(seat.has_bore_mm(), seat.bore_mm())});
  return numbers;
}

const holdshelf::Grip* deepestGrip(const Shape& shape) {
  const auto deepest = std::max_element(
      shape.grips().begin(), shape.grips().end(), [](const auto& a, const auto& b) {
        return a.edge_depth_mm().value() < b.edge_depth_mm().value();
      });
  return deepest == shape.grips().end() ? nullptr : &*deepest;
}

}  // namespace holdshelf
