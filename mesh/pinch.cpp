// SPDX-License-Identifier: Apache-2.0
#include "mesh/pinch.h"

#include <tbb/enumerable_thread_specific.h>
#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>

#include "mesh/outside_line.h"
#include "mesh/section.h"

namespace holdshelf {
namespace {

constexpr double kSlice_mm = 2;
constexpr int kDirections = 36;

struct Candidate {
  double direction = 0, score = 0, length = 0;
  PinchCut cut;
  Eigen::Vector2d centre;
};

/// One closing direction: sections along it, pinches in each, joined sideways.
class DirectionSearch {
 public:
  DirectionSearch(const SearchedMesh& source, const PinchOptions& options, double direction_deg,
                  SectionCutter& cutter)
      : source_(source), o_(options), direction_deg_(direction_deg), cutter_(cutter) {
    // A closing direction at angle d is the u axis of the pull planes at rotation 90 - d.
    planes_ = pullPlanes(90 - direction_deg);
    const auto [low, high] = reachAlong(source.mesh, planes_.normal);
    top_ = std::max(top_, reachAlong(source.mesh, Eigen::Vector3d::UnitZ()).second);
    planes_.step_mm = std::max(kSlice_mm, (high - low) / 100);
    planes_.first_mm = low + 0.5 * planes_.step_mm;
    planes_.count = std::max(1, static_cast<int>((high - low) / planes_.step_mm));
  }

  std::vector<Candidate> search() {
    std::vector<std::vector<PinchCut>> runs;
    cutter_.cut(planes_, [&](int k, const SectionLines& lines) {
      for (const PinchCut& cut : cutsOf(planes_.offset(k), lines)) {
        std::vector<PinchCut>* run = nullptr;
        for (auto& r : runs)
          if (cut.offset_mm > r.back().offset_mm &&
              cut.offset_mm - r.back().offset_mm < 1.5 * planes_.step_mm &&
              std::abs(cut.middle_mm - r.back().middle_mm) < 0.5 + 1.2 * planes_.step_mm &&
              std::abs(cut.width_mm - r.back().width_mm) < 0.1 * r.back().width_mm + 1)
            run = &r;
        if (run)
          run->push_back(cut);
        else
          runs.push_back({cut});
      }
    });
    std::vector<Candidate> candidates;
    for (const auto& run : runs) {
      const double length = planes_.step_mm * static_cast<double>(run.size());
      if (length >= o_.shortest_mm) candidates.push_back(candidateOf(run));
    }
    return candidates;
  }

 private:
  std::vector<PinchCut> cutsOf(double offset, const SectionLines& section) const {
    const auto filled = [&](double u) {
      const Eigen::Vector3d p = planes_.right * u + planes_.normal * offset;
      return source_.isFilled(p.head<2>());
    };
    const auto reachable = [&](double u, double z) {
      return source_.reach.gap_mm(planes_.right * u + planes_.up * z + planes_.normal * offset) <=
             1.5 * source_.reach.spacing_mm();
    };
    std::vector<PinchCut> cuts =
        pinchesIn(outsideLines(section, source_.precision.outside()), top_, o_, filled, reachable);
    for (PinchCut& cut : cuts) cut.offset_mm = offset;
    return cuts;
  }

  Candidate candidateOf(const std::vector<PinchCut>& run) const {
    Candidate c;
    c.direction = direction_deg_;
    c.cut = run[run.size() / 2];
    c.length = planes_.step_mm * static_cast<double>(run.size());
    const Eigen::Vector3d p = planes_.right * c.cut.middle_mm + planes_.normal * c.cut.offset_mm;
    c.centre = p.head<2>();
    c.score =
        std::min(c.cut.height_mm, 40.0) * std::min(c.length, 70.0) / std::max(c.cut.width_mm, 25.0);
    return c;
  }

  const SearchedMesh& source_;
  const PinchOptions& o_;
  double direction_deg_;
  SectionCutter& cutter_;
  PlaneFamily planes_;
  double top_ = 0;
};

double turnBetween(double a, double b) {
  const double d = std::fmod(std::abs(a - b), 180);
  return std::min(d, 180 - d);
}

bool alike(const Candidate& a, const Candidate& b, double turn) {
  const double between = (a.centre - b.centre).norm(),
               apart = turnBetween(a.direction, b.direction);
  // Two stretches of the same pair of faces are one pinch.
  if (apart <= 15 && std::abs(a.cut.width_mm - b.cut.width_mm) < 0.15 * a.cut.width_mm &&
      between < 0.5 * (a.length + b.length) + 10)
    return true;
  return between < 0.5 * std::max(a.cut.width_mm, 40.0) && apart <= turn;
}

Pinch describe(const Candidate& c, const MeshPrecision& precision) {
  const auto set = [](Measured* m, double value, double sigma) {
    m->set_value(value);
    m->set_sigma(sigma);
  };
  Pinch pinch;
  pinch.set_direction_deg(c.direction);
  pinch.set_depth_mm(c.cut.depth_mm);
  pinch.mutable_centre_mm()->set_x(c.centre.x());
  pinch.mutable_centre_mm()->set_y(c.centre.y());
  const double lean = std::tan(std::abs(c.cut.taper_deg) / 2 * M_PI / 180);
  // The faces are known to sigma; the direction to half a step, which widens the section; the depth
  // to half a level, which the taper turns into width.
  const double width = std::hypot(std::hypot(precision.sigma_mm, 1.4 * precision.ofResolution_mm()),
                                  std::hypot(c.cut.width_mm * 0.0004, lean * kPinchLevel_mm));
  set(pinch.mutable_width_mm(), c.cut.width_mm, width);
  set(pinch.mutable_taper_deg(), c.cut.taper_deg,
      std::hypot(0.15, 2 * precision.sigma_mm * 180 / M_PI / std::max(5.0, c.cut.height_mm)));
  set(pinch.mutable_height_mm(), c.cut.height_mm, kPinchLevel_mm);
  set(pinch.mutable_length_mm(), c.length, 1.4 * kSlice_mm / 1.7);
  return pinch;
}

/// Of candidates, best first, those that stay: at most six, none much worse than the best, no two
/// alike, each in the direction across which its faces are narrowest.
std::vector<Candidate> bestOf(const std::vector<Candidate>& all) {
  std::vector<Candidate> kept;
  for (const Candidate& c : all) {
    if (kept.size() == 6 || c.score < 0.3 * all.front().score) break;
    if (std::any_of(kept.begin(), kept.end(), [&](const Candidate& k) { return alike(k, c, 50); }))
      continue;
    // The closing direction is the one across which the same faces are narrowest.
    Candidate best = c;
    for (const Candidate& other : all)
      if (alike(c, other, 20) && other.score > 0.6 * c.score &&
          other.cut.width_mm < best.cut.width_mm - 1e-6)
        best = other;
    if (std::none_of(kept.begin(), kept.end(),
                     [&](const Candidate& k) { return alike(k, best, 40); }))
      kept.push_back(best);
  }
  return kept;
}

}  // namespace

std::vector<Pinch> findPinches(const SearchedMesh& source, const PinchOptions& options) {
  tbb::enumerable_thread_specific<SectionCutter> cutters(
      [&] { return SectionCutter(source.mesh, source.topology); });
  std::vector<std::vector<Candidate>> found(kDirections);
  tbb::parallel_for(0, kDirections, [&](int i) {
    found[i] = DirectionSearch(source, options, 180.0 / kDirections * i, cutters.local()).search();
  });
  std::vector<Candidate> all;
  for (auto& f : found) all.insert(all.end(), f.begin(), f.end());
  std::stable_sort(all.begin(), all.end(),
                   [](const Candidate& a, const Candidate& b) { return a.score > b.score; });
  std::vector<Pinch> pinches;
  for (const Candidate& c : bestOf(all)) pinches.push_back(describe(c, source.precision));
  return pinches;
}

}  // namespace holdshelf
