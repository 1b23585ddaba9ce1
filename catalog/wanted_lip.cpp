// SPDX-License-Identifier: Apache-2.0
#include "catalog/wanted_lip.h"

#include <algorithm>

#include "catalog/mounting.h"
#include "catalog/mounting_row.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

/// Where the hold holds best, else where its edge is deepest.
double bestRotation_deg(const SearchRow& row) {
  const auto hand = mostForce(row.mountings, {});
  if (hand && hand->fraction > 0) return hand->rotation_deg;
  const NumberTable& grips = row.numbers.at(static_cast<std::size_t>(NumberGroup::Grip));
  std::size_t deepest = 0;
  for (std::size_t i = 1; i < grips.rows; ++i)
    if (grips.values[i * columnCount(NumberGroup::Grip)] >
        grips.values[deepest * columnCount(NumberGroup::Grip)])
      deepest = i;
  return grips.rows > 0 ? grips.rotation_deg[deepest] : 0;
}

}  // namespace

LipCurve standingLip(const SearchRow& row, const std::vector<LipRun>& runs,
                     std::optional<double> wanted_deg) {
  const double rotation_deg = wanted_deg ? *wanted_deg : bestRotation_deg(row);
  const auto off = [&](const LipRun& run) {
    return run.meets(rotation_deg, rotation_deg)
               ? -1
               : std::min(angleBetween_deg(run.from_deg(), rotation_deg),
                          angleBetween_deg(run.to_deg(), rotation_deg));
  };
  return std::min_element(runs.begin(), runs.end(),
                          [&](const LipRun& x, const LipRun& y) { return off(x) < off(y); })
      ->curve;
}

LipProbe probeOf(const LipQuery& wanted, const std::function<LipCurve()>& like) {
  const int ways = (wanted.like().empty() ? 0 : 1) + (wanted.points_mm().empty() ? 0 : 1) +
                   (wanted.has_radius_mm() ? 1 : 0);
  if (ways != 1)
    throw BadInput(
        "A wanted lip is one of three: that of a hold, a drawn section, or a radius with an "
        "incut.");
  if (!wanted.like().empty()) return probeLike(like());
  if (wanted.has_radius_mm())
    return probeDrawn(lipOfNumbers(
        wanted.radius_mm(), wanted.incut_deg(),
        wanted.has_depth_mm() ? std::optional<double>(wanted.depth_mm()) : std::nullopt));
  SectionPath path;
  for (const Point2& p : wanted.points_mm()) path.emplace_back(p.y(), p.x());
  return probeDrawn(std::move(path));
}

}  // namespace holdshelf
