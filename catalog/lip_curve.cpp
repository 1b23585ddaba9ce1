// SPDX-License-Identifier: Apache-2.0
#include "catalog/lip_curve.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "catalog/mounting.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

using Eigen::Vector2d;
using Eigen::Vector2f;

constexpr double kAlike_mm = 0.3;  // Lips of neighbouring rotations that one curve stands for.
constexpr int kSteps = 72;
constexpr double kWall_mm = 2 * (LipCurve::kBefore + LipCurve::kAfter);  // Of wall joined on.

/// How far along a path its point nearest to a place is.
double runNearest(const SectionPath& path, const Vector2d& to) {
  double best = 1e300, run = 0, at_run = 0;
  for (std::size_t i = 0; i + 1 < path.size(); ++i) {
    const Vector2d way = path[i + 1] - path[i];
    const double length2 = way.squaredNorm();
    const double share =
        length2 > 0 ? std::clamp((to - path[i]).dot(way) / length2, 0.0, 1.0) : 0.0;
    const double distance2 = (path[i] + share * way - to).squaredNorm();
    if (distance2 < best) best = distance2, at_run = run + share * std::sqrt(length2);
    run += std::sqrt(length2);
  }
  return at_run;
}

/// Where a piece leaves the circle of one step about a point inside it.
Vector2d stepOut(const Vector2d& from, const Vector2d& a, const Vector2d& b) {
  // |a + t (b - a) - from|² = step², the larger root.
  const Vector2d way = b - a, start = a - from;
  const double p = start.dot(way) / way.squaredNorm();
  const double q =
      (start.squaredNorm() - LipCurve::kStep_mm * LipCurve::kStep_mm) / way.squaredNorm();
  return a + (-p + std::sqrt(std::max(0.0, p * p - q))) * way;
}

bool areNeighbours(const LipRun& one, const LipRun& next) {
  return (one.first_step + 1) % kSteps == next.first_step;
}

std::vector<LipRun> joined(const std::vector<LipRun>& single, double within_mm) {
  std::vector<LipRun> runs;
  const auto alike = [&](std::size_t first, std::size_t last) {
    const auto& middle = single[(first + last + 1) / 2].curve.at_mm;
    for (std::size_t i = first; i <= last; ++i)
      if (gapAfterShift(single[i].curve.at_mm, middle) > within_mm) return false;
    return true;
  };
  for (std::size_t first = 0; first < single.size();) {
    std::size_t last = first;
    while (last + 1 < single.size() && areNeighbours(single[last], single[last + 1]) &&
           alike(first, last + 1))
      ++last;
    runs.push_back(single[(first + last + 1) / 2]);
    runs.back().first_step = single[first].first_step;
    runs.back().steps = static_cast<int>(last - first) + 1;
    first = last + 1;
  }
  return runs;
}

/// Stretches of neighbouring steps; what is joined is no less, however wide.
std::size_t stretchesOf(const std::vector<LipRun>& single) {
  std::size_t count = single.empty() ? 0 : 1;
  for (std::size_t i = 1; i < single.size(); ++i)
    if (!areNeighbours(single[i - 1], single[i])) ++count;
  return count;
}

/// At most kMostRuns of them: of the two that are most alike the shorter goes, again and again, so
/// that who looks for its lip still finds the hold, by the other one.
std::vector<LipRun> leastAlike(std::vector<LipRun> runs) {
  while (runs.size() > kMostRuns) {
    std::size_t one = 0, other = 1;
    double nearest_mm = 1e300;
    for (std::size_t i = 0; i < runs.size(); ++i)
      for (std::size_t k = i + 1; k < runs.size(); ++k)
        if (const double gap_mm = gapAfterShift(runs[i].curve.at_mm, runs[k].curve.at_mm);
            gap_mm < nearest_mm)
          nearest_mm = gap_mm, one = i, other = k;
    const std::size_t shorter = runs[one].steps < runs[other].steps ? one : other;
    runs.erase(runs.begin() + static_cast<std::ptrdiff_t>(shorter));
  }
  return runs;
}

/// Whether every point is where straight steps from the middle come: false where a number in the
/// section was none, or so large that a millimetre beside it is lost.
bool isWhole(const LipCurve& curve) {
  return std::all_of(curve.at_mm.begin(), curve.at_mm.end(), [](const Vector2f& at) {
    return at.norm() <= static_cast<float>(LipCurve::kPoints * LipCurve::kStep_mm);
  });
}

/// The section that a grip was measured in, where it is one.
const Section* sectionOf(const Shape& shape, const Grip& grip) {
  if (!std::isfinite(grip.rotation_deg()) || !std::isfinite(grip.offset_mm())) return nullptr;
  for (const Section& section : shape.sections())
    if (angleBetween_deg(grip.rotation_deg(), section.rotation_deg()) <= 0.01 &&
        std::abs(grip.offset_mm() - section.offset_mm()) <= 0.01 && section.points_mm_size() >= 2)
      return &section;
  return nullptr;
}

/// One lip a step, in order, beginning behind a gap, so that a run through 0 stays whole.
std::vector<LipRun> lipsByStep(const Shape& shape) {
  std::vector<LipRun> single;
  for (const Grip& grip : shape.grips()) {
    const Section* section = sectionOf(shape, grip);
    if (section == nullptr) continue;
    SectionPath path;
    for (const Point2& p : section->points_mm()) path.emplace_back(p.x(), p.y());
    LipRun run;
    run.first_step =
        static_cast<int>(std::lround(wrap360(grip.rotation_deg()) / LipRun::kStep_deg)) % kSteps;
    run.curve = lipCurveAt(std::move(path), lipMiddle(grip));
    if (isWhole(run.curve)) single.push_back(run);
  }
  const auto earlier = [](const LipRun& x, const LipRun& y) { return x.first_step < y.first_step; };
  std::stable_sort(single.begin(), single.end(), earlier);
  const auto same = [](const LipRun& x, const LipRun& y) { return x.first_step == y.first_step; };
  single.erase(std::unique(single.begin(), single.end(), same), single.end());
  for (std::size_t i = 1; i < single.size(); ++i)
    if (!areNeighbours(single[i - 1], single[i])) {
      std::rotate(single.begin(), single.begin() + static_cast<std::ptrdiff_t>(i), single.end());
      break;
    }
  return single;
}

const std::array<Vector2f, 256>& directions() {
  static const auto table = [] {
    std::array<Vector2f, 256> made;
    for (std::size_t i = 0; i < made.size(); ++i) {
      const double angle = 2 * std::numbers::pi * static_cast<double>(i) / 256;
      made[i] = Vector2d(std::cos(angle), std::sin(angle)).cast<float>();
    }
    return made;
  }();
  return table;
}

/// From one stored point towards the next true one; `at` becomes what will be read back.
char directionTo(const Vector2f& to, Vector2f& at) {
  const double turn = std::atan2(to.y() - at.y(), to.x() - at.x()) / (2 * std::numbers::pi);
  const auto code = static_cast<std::uint8_t>(std::lround(turn * 256));
  at += directions()[code];
  return static_cast<char>(code);
}

}  // namespace

SectionPath walkAlong(const SectionPath& path, double run_mm, int most_steps) {
  SectionPath walked;
  std::size_t piece = 0;
  double left = std::max(0.0, run_mm), length = (path[1] - path[0]).norm();
  while (left > length && piece + 2 < path.size()) {
    left -= length;
    ++piece;
    length = (path[piece + 1] - path[piece]).norm();
  }
  Vector2d from = path[piece];
  if (length > 0) from += std::min(1.0, left / length) * (path[piece + 1] - path[piece]);
  walked.push_back(from);
  Vector2d a = from;
  while (static_cast<int>(walked.size()) <= most_steps && piece + 1 < path.size()) {
    if ((path[piece + 1] - from).norm() < LipCurve::kStep_mm - 1e-9) {
      a = path[++piece];
      continue;
    }
    from = a = stepOut(from, a, path[piece + 1]);
    walked.push_back(from);
  }
  return walked;
}

LipCurve lipCurveAt(SectionPath path, const Vector2d& near_mm) {
  if (path.size() < 2) throw BadInput("A section with fewer than two points has no lip.");
  path.push_back(path.back() + Vector2d(kWall_mm, 0));
  path.insert(path.begin(), path.front() - Vector2d(kWall_mm, 0));
  const double middle_mm = runNearest(path, near_mm);
  double length_mm = 0;
  for (std::size_t i = 1; i < path.size(); ++i) length_mm += (path[i] - path[i - 1]).norm();
  const SectionPath after = walkAlong(path, middle_mm, LipCurve::kAfter);
  std::reverse(path.begin(), path.end());
  const SectionPath before = walkAlong(path, length_mm - middle_mm, LipCurve::kBefore);
  LipCurve curve;
  for (std::size_t i = 0; i < after.size(); ++i)
    curve.at_mm.at(LipCurve::kBefore + i) = (after[i] - after[0]).cast<float>();
  for (std::size_t i = 0; i < before.size(); ++i)
    curve.at_mm.at(LipCurve::kBefore - i) = (before[i] - before[0]).cast<float>();
  return curve;
}

Vector2d lipMiddle(const Grip& grip) {
  if (grip.lip_sharp() || !grip.has_lip_centre_mm()) return {grip.lip_height_mm(), grip.lip_z_mm()};
  const double facing_deg = 90 + grip.incut_deg().value() - grip.lip_sweep_deg() / 2;
  const double facing = facing_deg * std::numbers::pi / 180;
  return Vector2d(grip.lip_centre_mm().x(), grip.lip_centre_mm().y()) +
         grip.lip_radius_mm().value() * Vector2d(std::sin(facing), std::cos(facing));
}

double gapAfterShift(std::span<const Vector2f> a, std::span<const Vector2f> b) {
  Vector2f sum = Vector2f::Zero();
  float squares = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    const Vector2f gap = a[i] - b[i];
    sum += gap;
    squares += gap.squaredNorm();
  }
  const auto count = static_cast<float>(a.size());
  return std::sqrt(std::max(0.0F, squares / count - (sum / count).squaredNorm()));
}

bool LipRun::meets(double range_from_deg, double range_to_deg) const {
  for (const double turn : {-720.0, -360.0, 0.0, 360.0, 720.0})
    if (from_deg() + turn <= range_to_deg && range_from_deg <= to_deg() + turn) return true;
  return false;
}

std::vector<LipRun> lipRuns(const Shape& shape) {
  const std::vector<LipRun> single = lipsByStep(shape);
  double within_mm = kAlike_mm;
  std::vector<LipRun> runs = joined(single, within_mm);
  if (stretchesOf(single) > kMostRuns) return leastAlike(std::move(runs));
  while (runs.size() > kMostRuns) runs = joined(single, within_mm *= 1.4);
  return runs;
}

std::string packLips(std::span<const LipRun> runs) {
  std::string bytes(1, static_cast<char>(runs.size()));
  for (const LipRun& run : runs) {
    std::string packed(kPackedRun, '\0');
    packed[0] = static_cast<char>(run.first_step);
    packed[1] = static_cast<char>(run.steps);
    Vector2f at = Vector2f::Zero();
    for (std::size_t i = LipCurve::kBefore; i > 0; --i)
      packed[1 + i] = directionTo(run.curve.at_mm[i - 1], at);
    at = Vector2f::Zero();
    for (std::size_t i = LipCurve::kBefore + 1; i < LipCurve::kPoints; ++i)
      packed[1 + i] = directionTo(run.curve.at_mm[i], at);
    bytes += packed;
  }
  return bytes;
}

LipRun unpackLip(const char* bytes) {
  LipRun run;
  run.first_step = static_cast<unsigned char>(bytes[0]);
  run.steps = static_cast<unsigned char>(bytes[1]);
  const auto way = [&](std::size_t i) {
    return directions()[static_cast<unsigned char>(bytes[1 + i])];
  };
  auto& at = run.curve.at_mm;
  at[LipCurve::kBefore] = Vector2f::Zero();
  for (std::size_t i = LipCurve::kBefore; i > 0; --i) at[i - 1] = at[i] + way(i);
  for (std::size_t i = LipCurve::kBefore + 1; i < LipCurve::kPoints; ++i)
    at[i] = at[i - 1] + way(i);
  return run;
}

std::vector<LipRun> unpackLips(std::string_view bytes) {
  std::vector<LipRun> runs;
  if (bytes.empty()) return runs;
  const auto count = static_cast<unsigned char>(bytes.front());
  if (bytes.size() != 1 + count * kPackedRun)
    throw BadInput("The lips of a hold are damaged: run holdshelf check --repair.");
  for (std::size_t i = 0; i < count; ++i)
    runs.push_back(unpackLip(bytes.data() + 1 + i * kPackedRun));
  return runs;
}

}  // namespace holdshelf
