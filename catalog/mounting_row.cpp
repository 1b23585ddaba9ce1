// SPDX-License-Identifier: Apache-2.0
#include "catalog/mounting_row.h"

#include <algorithm>
#include <bit>
#include <cmath>

#include "catalog/mounting.h"

namespace holdshelf {
namespace {

constexpr int kRotations = 36;
constexpr std::size_t kWallAngles = MostUse::kWallAngles;
constexpr double kStep_deg = 360.0 / kRotations;
constexpr double kFirstWallAngle_deg = -20, kWallAngleStep_deg = 10;
constexpr double kUnit = MostUse::kUnit;
constexpr std::size_t kMaskBytes = 5;

using Table = std::array<std::array<std::uint8_t, kWallAngles>, kRotations>;

/// Which rotations have anything, a bit each, then their rows.
std::string packTable(const Table& table) {
  std::uint64_t mask = 0;
  std::string rows;
  for (std::size_t r = 0; r < table.size(); ++r) {
    if (*std::max_element(table[r].begin(), table[r].end()) == 0) continue;
    mask |= std::uint64_t{1} << r;
    rows.append(table[r].begin(), table[r].end());
  }
  std::string bytes;
  for (std::size_t i = 0; i < kMaskBytes; ++i) bytes += static_cast<char>(mask >> (8 * i) & 0xff);
  return bytes + rows;
}

/// A packed table, read in place.
struct TableView {
  std::uint64_t mask = 0;
  std::string_view rows;

  /// Takes it off the front of the bytes; empty where they are too short.
  explicit TableView(std::string_view& bytes) {
    if (bytes.size() < kMaskBytes) return;
    std::uint64_t read = 0;
    for (std::size_t i = 0; i < kMaskBytes; ++i)
      read |= static_cast<std::uint64_t>(static_cast<unsigned char>(bytes[i])) << (8 * i);
    const std::size_t size = kWallAngles * static_cast<std::size_t>(std::popcount(read));
    if (bytes.size() < kMaskBytes + size) return;
    mask = read;
    rows = bytes.substr(kMaskBytes, size);
    bytes.remove_prefix(kMaskBytes + size);
  }

  double at(int rotation, double wall_angle_deg) const {
    const std::uint64_t bit = std::uint64_t{1} << rotation;
    if ((mask & bit) == 0) return 0;
    const std::size_t row = static_cast<std::size_t>(std::popcount(mask & (bit - 1)));
    const double place = std::clamp((wall_angle_deg - kFirstWallAngle_deg) / kWallAngleStep_deg,
                                    0.0, static_cast<double>(kWallAngles - 1));
    const auto below = std::min(static_cast<std::size_t>(place), kWallAngles - 2);
    const auto byte = [&](std::size_t w) {
      return static_cast<unsigned char>(rows[row * kWallAngles + w]);
    };
    const double share = place - static_cast<double>(below);
    return ((1 - share) * byte(below) + share * byte(below + 1)) / kUnit;
  }
};

MountedUse bestOf(const TableView& table, double from_deg, double to_deg, double wall_angle_deg) {
  const double turn_deg =
      to_deg - from_deg >= 360 - kStep_deg ? 360 - kStep_deg : wrap360(to_deg - from_deg);
  const double first = std::ceil(from_deg / kStep_deg - 1e-9);
  const double last = std::floor((from_deg + turn_deg) / kStep_deg + 1e-9);
  const bool between = last >= first;
  const double start = between ? first : std::round(from_deg / kStep_deg);
  MountedUse best{wrap360(start * kStep_deg), -1};
  for (int i = 0; i <= (between ? static_cast<int>(last - first) : 0); ++i) {
    const double rotation_deg = wrap360((start + i) * kStep_deg);
    const int rotation = static_cast<int>(std::lround(rotation_deg / kStep_deg)) % kRotations;
    if (const double f = table.at(rotation, wall_angle_deg); f > best.fraction)
      best = {rotation_deg, f};
  }
  return best;
}

double mostAt(const std::array<std::uint8_t, kWallAngles>& most, double wall_angle_deg) {
  const auto [below, above] = MostUse::beside(wall_angle_deg);
  return std::max(most.at(below), most.at(above)) / kUnit;
}

}  // namespace

std::string packMountings(const GripMap& map, const GripThresholds& thresholds) {
  Table hand{}, foot{};
  const auto byte = [](double fraction) {
    return static_cast<std::uint8_t>(std::lround(fraction * kUnit));
  };
  for (int r = 0; r < kRotations; ++r)
    for (std::size_t w = 0; w < kWallAngles; ++w) {
      const double wall_angle_deg =
          kFirstWallAngle_deg + kWallAngleStep_deg * static_cast<double>(w);
      const auto cell = lookUp(map, {r * kStep_deg, wall_angle_deg, 0});
      if (!cell) return {};
      hand.at(static_cast<std::size_t>(r)).at(w) = byte(cell->hand);
      if (cell->reach <= thresholds.too_grabbable && cell->toe >= thresholds.toe_fraction)
        foot.at(static_cast<std::size_t>(r)).at(w) = byte(cell->toe);
    }
  return packTable(hand) + packTable(foot);
}

std::optional<MountedUse> mostForce(std::string_view packed, const MountingSpan& span) {
  if (packed.empty()) return std::nullopt;
  MountedUse best = bestOf(TableView(packed), span.from_deg - span.pull_deg,
                           span.to_deg - span.pull_deg, span.wall_angle_deg);
  best.rotation_deg = wrap360(best.rotation_deg + span.pull_deg);
  return best;
}

std::optional<MountedUse> bestStand(std::string_view packed, const MountingSpan& span) {
  if (packed.empty()) return std::nullopt;
  (void)TableView(packed);  // The hands'.
  return bestOf(TableView(packed), span.from_deg, span.to_deg, span.wall_angle_deg);
}

std::array<std::size_t, 2> MostUse::beside(double wall_angle_deg) {
  const double place = std::clamp((wall_angle_deg - kFirstWallAngle_deg) / kWallAngleStep_deg, 0.0,
                                  static_cast<double>(kWallAngles - 1));
  return {static_cast<std::size_t>(std::floor(place)), static_cast<std::size_t>(std::ceil(place))};
}

bool MostUse::handMayReach(double wall_angle_deg, double fraction) const {
  return mostAt(hand, wall_angle_deg) >= fraction - 1e-9;
}

bool MostUse::footMayStand(double wall_angle_deg) const { return mostAt(foot, wall_angle_deg) > 0; }

MostUse mostUse(std::string_view packed) {
  MostUse most;
  for (auto* column : {&most.hand, &most.foot}) {
    const TableView table(packed);
    for (std::size_t i = 0; i < table.rows.size(); ++i) {
      auto& value = (*column)[i % kWallAngles];
      value = std::max(value, static_cast<std::uint8_t>(table.rows[i]));
    }
  }
  return most;
}

}  // namespace holdshelf
