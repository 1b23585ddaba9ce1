// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>
#include <cstdint>
#include <string_view>

namespace holdshelf {

/// What a hold is to a hand or foot. The numbers are stored in grip maps: append only.
enum class GripKind : std::uint8_t {
  None = 0,
  Jug = 1,
  Edge = 2,
  Crimp = 3,
  Pocket = 4,
  Sloper = 5,
  Pinch = 6,
  FootOnly = 7,
  Volume = 8,
};

constexpr std::size_t kGripKinds = 9;

/// The word in records, searches and print: "jug", "edge", ..., "foot-only", "volume or feature";
/// "nothing" for None.
std::string_view wordOf(GripKind kind);

/// How the fingers stand on an edge.
enum class Technique : std::uint8_t { OpenHand, HalfCrimp, FullCrimp };

/// "open hand", "half crimp", "full crimp".
std::string_view nameOf(Technique technique);

}  // namespace holdshelf
