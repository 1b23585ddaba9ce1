// SPDX-License-Identifier: Apache-2.0
#include "catalog/lip_probe.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

using Eigen::Vector2d;
using Eigen::Vector2f;

constexpr double kLikeShift_mm = 2;   // Middles of measured lips differ by less.
constexpr double kDrawnShift_mm = 3;  // A drawn line's middle is only where it turns most.
constexpr double kShiftStep_mm = 0.25;
constexpr double kShortest_mm = 8;
constexpr double kLongest_mm = 2000;  // No hold has a longer section; each mm of it takes memory.
constexpr double kLeastTurn_deg = 20;
constexpr double kTurnWithin_mm = 8;    // On both sides of a lip's middle.
constexpr double kGripFacing_deg = 35;  // From here on a surface may be pulled on.

double lengthOf(const SectionPath& path) {
  double length = 0;
  for (std::size_t i = 1; i < path.size(); ++i) length += (path[i] - path[i - 1]).norm();
  return length;
}

/// The path moved along itself to each side; what reaches beyond a stored curve is cut off.
LipProbe shiftedProbe(const SectionPath& path, double middle_mm, double most_mm,
                      std::size_t least_points) {
  const double length_mm = lengthOf(path);
  const SectionPath back(path.rbegin(), path.rend());
  LipProbe probe;
  const int steps = static_cast<int>(std::lround(most_mm / kShiftStep_mm));
  for (int i = 0; i <= 2 * steps; ++i) {
    // 0, 1, -1, 2, -2, ...: the likely ones first.
    const int away = (i + 1) / 2;
    const double run_mm = middle_mm + kShiftStep_mm * (i % 2 == 1 ? away : -away);
    if (run_mm < 0 || run_mm > length_mm) continue;
    const SectionPath before = walkAlong(back, length_mm - run_mm, LipCurve::kBefore);
    const SectionPath after = walkAlong(path, run_mm, LipCurve::kAfter);
    LipPlacement placement;
    placement.first = LipCurve::kBefore - static_cast<int>(before.size()) + 1;
    for (std::size_t k = before.size(); k-- > 1;)
      placement.at_mm.push_back(before[k].cast<float>());
    for (const Vector2d& p : after) placement.at_mm.push_back(p.cast<float>());
    if (placement.at_mm.size() >= least_points) probe.push_back(std::move(placement));
  }
  return probe;
}

/// Direction of the outward normal of each piece, 0 away from the wall, 90 against the pull,
/// without jumps.
std::vector<double> facings_deg(const SectionPath& points) {
  std::vector<double> facings;
  for (std::size_t i = 1; i < points.size(); ++i) {
    const Vector2d way = points[i] - points[i - 1];
    const double facing = std::atan2(-way.y(), way.x()) * 180 / std::numbers::pi;
    facings.push_back(
        facings.empty() ? facing : facings.back() + std::remainder(facing - facings.back(), 360));
  }
  return facings;
}

/// How far along the path its lip's middle lies: of the window that turns most towards a grip face,
/// the place where half of that is turned.
double lipMiddleOf(const SectionPath& path) {
  const int steps = static_cast<int>(lengthOf(path) / LipCurve::kStep_mm);
  const std::vector<double> facings = facings_deg(walkAlong(path, 0.0, steps));
  constexpr std::size_t kWindow = static_cast<std::size_t>(2 * kTurnWithin_mm / LipCurve::kStep_mm);
  double most = 0;
  std::size_t from = 0, to = 0;
  for (std::size_t i = 0; i < facings.size(); ++i)
    for (std::size_t k = i + 1; k < std::min(facings.size(), i + kWindow); ++k)
      if (facings[k] >= kGripFacing_deg && facings[k] - facings[i] > most + 0.1)
        most = facings[k] - facings[i], from = i, to = k;
  if (most < kLeastTurn_deg)
    throw BadInput(
        "The drawn section has no lip: draw the line from the face over the lip to the grip face, "
        "in mm, the wall on the left and the pull downwards.");
  const double half = facings[from] + most / 2;
  while (from + 1 < to && facings[from + 1] < half) ++from;
  // Facings hold for the middles of their steps.
  const double share = (half - facings[from]) / (facings[from + 1] - facings[from]);
  return (static_cast<double>(from) + 0.5 + share) * LipCurve::kStep_mm;
}

}  // namespace

LipProbe probeLike(const LipCurve& curve) {
  SectionPath path;
  for (const Vector2f& p : curve.at_mm) path.push_back(p.cast<double>());
  return shiftedProbe(path, LipCurve::kBefore * LipCurve::kStep_mm, kLikeShift_mm, 8);
}

LipProbe probeDrawn(SectionPath path) {
  for (const Vector2d& p : path)
    if (!p.allFinite() || p.norm() > 1e4)
      throw BadInput("A point of the drawn section is no place in mm: write two numbers a point.");
  if (path.size() < 2 || lengthOf(path) < kShortest_mm)
    throw BadInput("The drawn section is shorter than 8 mm: draw more of the lip, in mm.");
  if (lengthOf(path) > kLongest_mm)
    throw BadInput("The drawn section is longer than 2 m: draw one lip alone, in mm.");
  // From the face to the root: what is drawn looks away from the wall and against the pull.
  const Vector2d way = path.back() - path.front();
  if (way.x() - way.y() < 0) std::reverse(path.begin(), path.end());
  const double middle_mm = lipMiddleOf(path);
  const double before = std::min(middle_mm, LipCurve::kBefore * LipCurve::kStep_mm);
  const double after = std::min(lengthOf(path) - middle_mm, LipCurve::kAfter * LipCurve::kStep_mm);
  const auto least = static_cast<std::size_t>(std::max(5.0, 0.7 * (before + after)));
  return shiftedProbe(path, middle_mm, kDrawnShift_mm, least);
}

SectionPath lipOfNumbers(double radius_mm, double incut_deg, std::optional<double> depth_mm) {
  if (!(radius_mm > 0 && radius_mm < 500) || !(std::abs(incut_deg) < 80))
    throw BadInput("A lip needs a radius above 0 mm and an incut between -80 and 80 degrees.");
  constexpr double kFace_mm = 30, kContact_mm = 24;
  constexpr int kPieces = 90;
  SectionPath path = {{-kFace_mm, 0}};
  const double turn = (90 + incut_deg) * std::numbers::pi / 180;
  for (int i = 0; i <= kPieces; ++i) {
    const double facing = turn * i / kPieces;
    path.emplace_back(radius_mm * std::sin(facing), radius_mm * (std::cos(facing) - 1));
  }
  const Vector2d end = path.back(), along(std::cos(turn), -std::sin(turn));
  if (!depth_mm) {
    path.push_back(end + kContact_mm * along);
    return path;
  }
  if (-end.y() > *depth_mm)
    throw BadInput("A lip of that radius and incut is deeper than the depth asked for.");
  path.push_back(end + (*depth_mm + end.y()) / -along.y() * along);
  path.push_back(path.back() + Vector2d(kContact_mm, 0));
  return path;
}

LipOverlay overlay(const LipPlacement& wanted, const LipCurve& found) {
  LipOverlay laid;
  Vector2f& shift = laid.shift_mm;
  const std::size_t count = wanted.at_mm.size();
  for (std::size_t i = 0; i < count; ++i) {
    laid.wanted_mm.push_back(wanted.at_mm[i]);
    laid.found_mm.push_back(found.at_mm.at(static_cast<std::size_t>(wanted.first) + i));
    shift += (laid.found_mm[i] - laid.wanted_mm[i]) / static_cast<float>(count);
  }
  std::vector<double> gaps;
  double squares = 0;
  for (std::size_t i = 0; i < count; ++i) {
    laid.wanted_mm[i] += shift;
    gaps.push_back((laid.found_mm[i] - laid.wanted_mm[i]).norm());
    squares += gaps.back() * gaps.back();
  }
  std::sort(gaps.begin(), gaps.end());
  laid.gap_mm = std::sqrt(squares / static_cast<double>(count));
  laid.gap_95_mm = gaps[static_cast<std::size_t>(0.95 * static_cast<double>(count - 1))];
  return laid;
}

std::pair<std::size_t, double> bestPlacement(const LipProbe& probe, const LipCurve& curve) {
  std::pair<std::size_t, double> best{0, 1e300};
  for (std::size_t i = 0; i < probe.size(); ++i) {
    const std::span<const Vector2f> beside(
        curve.at_mm.data() + static_cast<std::size_t>(probe[i].first), probe[i].at_mm.size());
    if (const double gap = gapAfterShift(probe[i].at_mm, beside); gap < best.second)
      best = {i, gap};
  }
  return best;
}

}  // namespace holdshelf
