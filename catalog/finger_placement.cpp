// SPDX-License-Identifier: Apache-2.0
#include "catalog/finger_placement.h"

#include <algorithm>
#include <cmath>
#include <vector>

namespace holdshelf {
namespace {

constexpr double kSlide_mm = 2;
constexpr double kMostSlides = 4000;  // As many go over more than the largest hold.

/// Integral of the piecewise linear value from the first place on. Each asker keeps the place it
/// stopped at, so that asking for growing offsets costs O(1) on average.
class RunningIntegral {
 public:
  explicit RunningIntegral(std::span<const PlaceValue> places) : places_(places) {
    sums_.reserve(places.size());
    double sum = 0;
    for (std::size_t i = 0; i < places.size(); ++i) {
      if (i > 0)
        sum += (places[i].offset_mm - places[i - 1].offset_mm) *
               (places[i].value + places[i - 1].value) / 2;
      sums_.push_back(sum);
    }
  }

  /// @param next  The asker's place, 0 at first; offsets must not fall between calls.
  double upTo(double offset_mm, std::size_t& next) const {
    if (offset_mm <= places_.front().offset_mm) return 0;
    if (offset_mm >= places_.back().offset_mm) return sums_.back();
    while (places_[next].offset_mm <= offset_mm) ++next;
    const PlaceValue &a = places_[next - 1], &b = places_[next];
    const double along = offset_mm - a.offset_mm;
    const double slope = (b.value - a.value) / (b.offset_mm - a.offset_mm);
    return sums_[next - 1] + along * (a.value + slope * along / 2);
  }

 private:
  std::span<const PlaceValue> places_;
  std::vector<double> sums_;
};

using Four = std::array<double, 4>;

/// Where in the integral the hand's five finger borders were last looked up.
using Borders = std::array<std::size_t, 5>;

FingerPlacement standAt(double start_mm, const RunningIntegral& integral, const Four& breadth_mm,
                        const Four& load_share, Borders& borders) {
  FingerPlacement stand;
  stand.start_mm = start_mm;
  Four value{};
  double at = start_mm, below = integral.upTo(start_mm, borders[0]);
  for (std::size_t i = 0; i < 4; ++i) {
    at += breadth_mm[i];
    const double up_to = integral.upTo(at, borders[i + 1]);
    value[i] = (up_to - below) / breadth_mm[i];
    stand.share += load_share[i] * value[i];
    below = up_to;
  }
  const double best = *std::max_element(value.begin(), value.end());
  for (std::size_t i = 0; i < 4; ++i) {
    if (!(best > 0)) break;
    stand.cover += std::min(1.0, value[i] / best) / 4;
    if (value[i] < 0.5 * best) continue;
    ++stand.fingers;
    stand.load_share += load_share[i];
  }
  return stand;
}

}  // namespace

FingerPlacement placeFingers(std::span<const PlaceValue> places, const Four& breadth_mm,
                             const Four& load_share) {
  const RunningIntegral integral(places);
  const double room = breadth_mm[0] + breadth_mm[1] + breadth_mm[2] + breadth_mm[3];
  const double first = places.front().offset_mm - room, last = places.back().offset_mm;
  const bool along_something = std::isfinite(last - first) && last >= first;
  if (!along_something) return {};
  const double slide_mm = std::max(kSlide_mm, (last - first) / kMostSlides);
  const Four back_breadth{breadth_mm[3], breadth_mm[2], breadth_mm[1], breadth_mm[0]};
  const Four back_share{load_share[3], load_share[2], load_share[1], load_share[0]};
  FingerPlacement best;
  Borders borders{}, back_borders{};
  const int steps = static_cast<int>(std::ceil((last - first) / slide_mm));
  for (int i = 0; i <= steps; ++i) {
    const double start = std::min(first + slide_mm * i, last);
    for (const auto& stand : {standAt(start, integral, breadth_mm, load_share, borders),
                              standAt(start, integral, back_breadth, back_share, back_borders)})
      if (stand.share > best.share + 1e-9) best = stand;
  }
  return best;
}

}  // namespace holdshelf
