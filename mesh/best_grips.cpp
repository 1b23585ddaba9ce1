// SPDX-License-Identifier: Apache-2.0
#include "mesh/best_grips.h"

#include <tbb/enumerable_thread_specific.h>
#include <tbb/parallel_for.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <cstdio>
#include <mutex>

#include "mesh/edge_fit.h"
#include "mesh/edge_run.h"

namespace holdshelf {
namespace {

constexpr double kSharedAlongLip = 0.5;  // See sharedAlongLip_mm.
constexpr double kOfCloserLook = 0.5;    // See byDefinition.

/// Standard uncertainties of an edge's numbers from where exactly its parts begin and end.
struct ByDefinition {
  double depth_mm = 0, radius_mm = 0, incut_deg = 0;
};

/// Sections of one rotation, the edges in them, and the runs they form.
class RotationSearch {
 public:
  RotationSearch(const GripSource& source, const MeasureOptions& options, double rotation_deg,
                 SectionCutter& cutter)
      : source_(source),
        options_(options),
        rotation_deg_(rotation_deg),
        cutter_(cutter),
        planes_(pullPlanes(rotation_deg)),
        outside_(source.precision.outside()) {
    edge_options_.smallest_depth_mm = options.smallest_depth_mm;
    edge_options_.contact_mm = options.contact_mm;
    edge_options_.wall_mm = std::max(1.5, 2 * source.precision.resolution_mm);
    edge_options_.facing_sigma_deg = source.precision.facingSigma_deg();
    edge_options_.turn_sigma_deg = source.precision.turnSigma_deg();
    edge_options_.kernel_mm = outside_.window_mm / 2;
    edge_options_.touch_mm = 1.2 * source.reach.spacing_mm();
    layPlanes();
  }

  GripAt search() {
    std::vector<std::vector<EdgeAt>> by_slice(static_cast<std::size_t>(planes_.count));
    cutter_.cut(planes_, [&](int k, const SectionLines& lines) {
      by_slice[k] = edgesOf(k, planes_.offset(k), lines);
    });
    const std::vector<EdgeRun> runs = joinSideways(by_slice, planes_.step_mm);
    const auto best = wanted_slice_ >= 0 ? bestPlaceIn(runs, wanted_slice_)
                                         : bestPlace(runs, planes_.step_mm, options_.finger_mm,
                                                     options_.smallest_width_mm);
    GripAt out;
    const double offset = best ? planes_.offset(best->edge().slice) : middle_mm_;
    describeSection(offset, best ? &best->edge().edge : nullptr, out);
    if (best) out.grip = describe(*best->run, best->at);
    return out;
  }

 private:
  void layPlanes() {
    const auto [low, high] = reachAlong(source_.mesh, planes_.normal);
    planes_.step_mm = std::max(options_.slice_mm, (high - low) / 200);
    planes_.count = std::max(1, static_cast<int>((high - low) / planes_.step_mm));
    middle_mm_ = 0.5 * (low + high);
    planes_.first_mm = middle_mm_ - 0.5 * (planes_.count - 1) * planes_.step_mm;
    if (!options_.at_offset_mm) return;
    const double wanted = *options_.at_offset_mm;
    if (!(wanted > low && wanted < high)) {
      char text[160];
      std::snprintf(text, sizeof text,
                    "A section %.1f mm sideways misses the hold, which at this rotation reaches "
                    "from %.1f to %.1f mm.",
                    wanted, low, high);
      throw BadInput(text);
    }
    // Shifted so that one of the planes is the one that is asked for.
    wanted_slice_ = static_cast<int>((wanted - low) / planes_.step_mm);
    planes_.first_mm = wanted - wanted_slice_ * planes_.step_mm;
    planes_.count = wanted_slice_ + 1 + static_cast<int>((high - wanted) / planes_.step_mm);
    middle_mm_ = wanted;
  }

  Eigen::Vector3d inHold(const Eigen::Vector2d& p, double offset) const {
    return planes_.right * p.x() + planes_.up * p.y() + planes_.normal * offset;
  }

  bool filled(const Eigen::Vector3d& p) const {
    for (const FilledDisc& disc : source_.filled)
      if ((p.head<2>() - disc.centre_mm).norm() < disc.radius_mm) return true;
    return false;
  }

  EdgeOptions optionsAt(double offset) const {
    EdgeOptions options = edge_options_;
    options.gap_mm = [this, offset](const Eigen::Vector2d& p) {
      return source_.reach.gap_mm(inHold(p, offset));
    };
    options.edge_mm = [this](const SectionPoint& p) {
      const Eigen::Vector3d edge =
          source_.mesh.vertices_mm[p.to] - source_.mesh.vertices_mm[p.from];
      return Eigen::Vector2d(planes_.right.dot(edge), planes_.up.dot(edge));
    };
    return options;
  }

  std::vector<EdgeAt> edgesOf(int slice, double offset, const SectionLines& lines) const {
    std::vector<EdgeAt> edges;
    const EdgeOptions options = optionsAt(offset);
    for (const OutsideLine& line : outsideLines(lines, outside_))
      for (const SectionEdge& edge : findEdges(line, options))
        if (!filled(inHold(edge.lip_at_mm, offset))) edges.push_back({slice, edge});
    return edges;
  }

  /// Cuts again at one offset and finds the edge there that continues `like`.
  std::optional<SectionEdge> edgeNear(double offset, const SectionEdge& like) {
    const SectionLines lines = cutter_.cutOne(planes_, offset);
    std::optional<SectionEdge> best;
    double nearest = 3 + 2 * planes_.step_mm;
    for (const EdgeAt& e : edgesOf(0, offset, lines))
      if (const double d = lipDistance(like, e.edge); d < nearest) {
        nearest = d;
        best = e.edge;
      }
    return best;
  }

  /// Where between a place that is deep enough and its neighbour the depth falls below `depth`.
  double refineEnd(const EdgeRun& run, std::size_t inner, int towards, double depth) {
    double in = planes_.offset(run[inner].slice), out = in + towards * planes_.step_mm;
    for (int i = 0; i < 3; ++i) {
      const double middle = 0.5 * (in + out);
      const auto edge = edgeNear(middle, run[inner].edge);
      (edge && edge->depth_mm >= depth ? in : out) = middle;
    }
    return 0.5 * (in + out);
  }

  int fingersIn(double width) const {
    // A twentieth of a finger over the end does no harm.
    return std::clamp(static_cast<int>(std::floor(width / options_.finger_mm + 0.05)), 0, 4);
  }

  Span spanAround(const EdgeRun& run, std::size_t place, double depth) {
    std::size_t first = place, last = place;
    const auto joined = [&](std::size_t a, std::size_t b) {
      return run[b].slice - run[a].slice <= 2;
    };
    while (first > 0 && joined(first - 1, first) && run[first - 1].edge.depth_mm >= depth) --first;
    while (last + 1 < run.size() && joined(last, last + 1) && run[last + 1].edge.depth_mm >= depth)
      ++last;
    Span span;
    span.set_from_mm(refineEnd(run, first, -1, depth));
    span.set_to_mm(refineEnd(run, last, 1, depth));
    span.set_fingers(fingersIn(span.to_mm() - span.from_mm()));
    return span;
  }

  void addSpans(const EdgeRun& run, std::size_t place, double depth, Grip& grip) {
    grip.set_width_depth_mm(depth);
    const Span best = spanAround(run, place, depth);
    *grip.add_spans() = best;
    for (std::size_t i = 0; i < run.size(); ++i) {
      const double at = planes_.offset(run[i].slice);
      bool known = false;
      for (const Span& s : grip.spans())
        known = known || (at >= s.from_mm() - 0.01 && at <= s.to_mm() + 0.01);
      if (known || run[i].edge.depth_mm < depth) continue;
      const Span span = spanAround(run, i, depth);
      if (span.to_mm() - span.from_mm() > 2) *grip.add_spans() = span;
    }
    const double width = best.to_mm() - best.from_mm();
    grip.mutable_edge_width_mm()->set_value(width);
    grip.set_fingers(best.fingers());
  }

  /// Standard uncertainty of where a span ends. Within a run it ends where the depth falls below
  /// the stated one; with the run, where the surface stops being a grip face: at once, or by
  /// turning away gradually, which noise moves.
  double endSigma(const EdgeRun& run, double end, double depth_sigma) const {
    const double step = planes_.step_mm;
    double before = 0, after = 0;
    const EdgeAt* last = nullptr;
    for (const EdgeAt& e : run) {
      const double d = planes_.offset(e.slice) - end;
      if (d < 0 && d > -2 * step) before = e.edge.depth_mm;
      if (d > 0 && d < 2 * step && after == 0) after = e.edge.depth_mm;
      if (std::abs(d) < 2 * step) last = &e;
    }
    if (before > 0 && after > 0)
      return depth_sigma / std::max(0.1, std::abs(after - before) / (2 * step));
    if (!last) return 0;
    const auto inner = last == &run.front()
                           ? last + std::min<std::ptrdiff_t>(8, &run.back() - last)
                           : last - std::min<std::ptrdiff_t>(8, last - &run.front());
    const double noise = source_.precision.facingSigma_deg();
    const double left = last->edge.grip_facing_deg - edge_options_.grip_facing_deg;
    const double turn = (inner->edge.grip_facing_deg - last->edge.grip_facing_deg) /
                        (step * std::max(1, std::abs(inner->slice - last->slice)));
    if (left > 15 + 4 * noise) return 0;  // It ends at once.
    return (std::abs(left) / 2 + noise) / std::max(turn, 0.2);
  }

  double localSigma(const OutsideLine& line, double from, double to, double& guesswork) const {
    const auto [a, b] = line.pointsBetween(from, to);
    double variance = 0, guessed = 0;
    for (std::size_t k = a; k < b; ++k) {
      const SectionPoint& p = line.points[k];
      const auto mix = [&](const auto& attribute) {
        return (1 - p.share) * static_cast<double>(attribute[p.from]) +
               p.share * static_cast<double>(attribute[p.to]);
      };
      const double s =
          source_.mesh.sigma_mm.empty() ? source_.precision.sigma_mm : mix(source_.mesh.sigma_mm);
      variance += s * s;
      if (!source_.mesh.guesswork.empty()) guessed += mix(source_.mesh.guesswork) > 0.5;
    }
    const double n = std::max<double>(1, static_cast<double>(b - a));
    guesswork = guessed / n;
    return b > a ? std::sqrt(variance / n) : source_.precision.sigma_mm;
  }

  /// Fits the best place; where noise leaves its numbers uncertain, together with as many of the
  /// sections within a finger's width as it takes.
  EdgeFit fitAt(const EdgeRun& run, std::size_t place) {
    const SectionEdge& edge = run[place].edge;
    const double resolution = source_.precision.resolution_mm;
    std::vector<EdgeCut> cuts = {{best_line_, edge, optionsAt(planes_.offset(run[place].slice))}};
    EdgeFit alone = fitEdge(best_line_, edge, cuts[0].options, resolution);
    double guesswork = 0;
    const double sigma = source_.precision.sharing() *
                         localSigma(best_line_, edge.arc_begin_mm, edge.root_mm, guesswork);
    const double excess = std::max(
        {sigma * alone.lip_radius_per_mm / std::max(0.05, 0.02 * alone.lip_radius_mm),
         sigma * alone.incut_per_mm / 0.3, 2 * sigma / std::sqrt(alone.lip_points) / 0.05});
    if (excess < 1) return alone;
    // The excess has no bound where an edge is hardly there, so it is cut off before it is counted.
    const double most = options_.finger_mm / 2 / planes_.step_mm;
    addCutsBeside(run, place, static_cast<int>(std::min(most, 1 + excess * excess / 2)), cuts);
    return fitEdgeTogether(cuts, resolution);
  }

  /// The run's edge in up to `side` sections on each side of a place.
  void addCutsBeside(const EdgeRun& run, std::size_t place, int side, std::vector<EdgeCut>& cuts) {
    PlaneFamily planes = planes_;
    const int first = std::max(0, run[place].slice - side);
    planes.first_mm = planes_.offset(first);
    planes.count = std::min(planes_.count, run[place].slice + side + 1) - first;
    cutter_.cut(planes, [&](int k, const SectionLines& lines) {
      const auto at = std::find_if(run.begin(), run.end(), [&](const EdgeAt& e) {
        return e.slice == first + k && e.slice != run[place].slice;
      });
      if (at == run.end()) return;
      for (OutsideLine& line : outsideLines(lines, outside_))
        if (line.length_mm() >= at->edge.root_mm - 0.01 &&
            (line.pointAt(at->edge.lip_mm) - at->edge.lip_at_mm).norm() < 0.01)
          cuts.push_back({std::move(line), at->edge, optionsAt(planes.offset(k))});
    });
  }

  /// Where a lip turns into the grip face and that into the root is a matter of how finely one
  /// looks, and on round holds the numbers depend on it. The same edge with half the window and
  /// half the allowance for noise tells by how much; a crisp edge gives the same again.
  ByDefinition byDefinition(double offset, const SectionEdge& like, const EdgeFit& fit) {
    OutsideOptions outside = outside_;
    outside.window_mm /= 2;
    outside.step_mm = std::clamp(outside.window_mm / 4, 0.1, 0.75);
    EdgeOptions options = optionsAt(offset);
    options.kernel_mm /= 2;
    options.facing_sigma_deg /= 2;
    options.turn_sigma_deg /= 2;
    ByDefinition out;
    double nearest = 3 + 2 * planes_.step_mm;
    for (const OutsideLine& line : outsideLines(cutter_.cutOne(planes_, offset), outside))
      for (const SectionEdge& edge : findEdges(line, options)) {
        const double d = lipDistance(like, edge);
        if (d >= nearest) continue;
        nearest = d;
        const EdgeFit closer = fitEdge(line, edge, options, source_.precision.resolution_mm);
        out = {std::abs(closer.depth_mm - fit.depth_mm), 0,
               std::abs(closer.incut_deg - fit.incut_deg)};
        if (!closer.sharp) out.radius_mm = std::abs(closer.lip_radius_mm - fit.lip_radius_mm);
      }
    // On a face that turns, a contact that begins elsewhere lies at another angle.
    const double by_begin = fit.contact_bend_deg_per_mm * edge_options_.kernel_mm;
    return {kOfCloserLook * out.depth_mm, kOfCloserLook * out.radius_mm,
            std::hypot(kOfCloserLook * out.incut_deg, by_begin)};
  }

  Grip describe(const EdgeRun& run, std::size_t place) {
    Grip grip;
    grip.set_rotation_deg(rotation_deg_);
    const double offset = planes_.offset(run[place].slice);
    grip.set_offset_mm(offset);
    const SectionEdge& edge = run[place].edge;
    const EdgeFit fit = fitAt(run, place);
    setNumbers(edge, fit, byDefinition(offset, edge, fit), grip);
    double depth = options_.width_depth_share * fit.depth_mm;
    if (options_.width_depth_mm > 0 && options_.width_depth_mm <= fit.depth_mm)
      depth = options_.width_depth_mm;
    addSpans(run, place, depth, grip);
    const double d_sigma = grip.edge_depth_mm().sigma();
    const double ends = std::hypot(endSigma(run, grip.spans(0).from_mm(), d_sigma),
                                   endSigma(run, grip.spans(0).to_mm(), d_sigma));
    grip.mutable_edge_width_mm()->set_sigma(
        std::hypot(std::min(ends, 5.0),
                   std::hypot(0.1 * planes_.step_mm, 0.2 * source_.precision.resolution_mm)));
    const int stride = std::max(1, static_cast<int>(2 / planes_.step_mm));
    for (std::size_t i = 0; i < run.size(); ++i) {
      if (i % static_cast<std::size_t>(stride) != 0 && i + 1 != run.size()) continue;
      EdgePlace* at = grip.add_run();
      at->set_offset_mm(planes_.offset(run[i].slice));
      at->set_depth_mm(run[i].edge.depth_mm);
      at->set_lip_height_mm(run[i].edge.lip_at_mm.x());
    }
    return grip;
  }

  /// What the surface errs along a whole lip no number of sections averages out: as much as half a
  /// vertex's uncertainty in the arc's middle against its ends, which is the radius times one
  /// less the cosine of half its sweep. Estimated roughness is not shared.
  double sharedAlongLip_mm(const SectionEdge& edge, const EdgeFit& fit) const {
    if (source_.mesh.sigma_mm.empty()) return 0;
    double guesswork = 0;
    const double sigma = localSigma(best_line_, edge.arc_begin_mm, edge.arc_end_mm, guesswork);
    const double height = 1 - std::cos(std::clamp(fit.lip_sweep_deg, 30.0, 180.0) * M_PI / 360);
    return kSharedAlongLip * sigma / height;
  }

  void setNumbers(const SectionEdge& edge, const EdgeFit& fit, const ByDefinition& doubt,
                  Grip& grip) const {
    double guesswork = 0;
    const double sigma = localSigma(best_line_, edge.arc_begin_mm - 2, edge.root_mm + 2, guesswork);
    const double mesh_mm = source_.precision.ofResolution_mm();
    const double share = source_.precision.sharing();
    // A height is read at the end of its line, where it is twice as uncertain as in the middle.
    const auto mean = [&](int points) {
      return points > 1 ? std::min(1.0, 2 * share / std::sqrt(points)) * sigma : sigma;
    };
    const double depth = std::hypot(
        std::max(std::hypot(mean(fit.lip_points), edge.at_wall ? sigma : mean(fit.root_points)),
                 fit.depth_error_mm),
        std::hypot(doubt.depth_mm, 1.4 * mesh_mm));
    const auto set = [](Measured* m, double value, double s) {
      m->set_value(value);
      m->set_sigma(s);
    };
    set(grip.mutable_edge_depth_mm(), fit.depth_mm, depth);
    const double r = fit.lip_radius_mm, resolution = source_.precision.resolution_mm;
    const double flat = resolution * resolution / (8 * std::max(r, 0.1));
    set(grip.mutable_lip_radius_mm(), r,
        fit.sharp
            ? resolution / 2
            : std::sqrt(std::pow(share * sigma * fit.lip_radius_per_mm, 2) + flat * flat +
                        1e-4 * r * r + std::pow(fit.lip_rms_mm, 2) / 4 +
                        std::pow(doubt.radius_mm, 2) + std::pow(sharedAlongLip_mm(edge, fit), 2)));
    // Where on a round lip the length begins moves with its radius and with the face's direction.
    const double begin = fit.sharp
                             ? 0.3 * resolution
                             : std::hypot(0.6 * grip.lip_radius_mm().sigma(),
                                          r * source_.precision.facingSigma_deg() * M_PI / 180);
    // So does where it ends: at the wall meshes are cut off, and a root turns back gradually.
    const double end =
        edge.at_wall ? 0.5 * outside_.back_mm : 0.02 * (edge.root_mm - edge.face_end_mm);
    set(grip.mutable_edge_along_mm(), fit.along_mm,
        std::hypot(depth * std::max(1.0, fit.along_mm / std::max(1.0, fit.depth_mm)),
                   std::hypot(begin, end, mesh_mm)));
    set(grip.mutable_incut_deg(), fit.incut_deg,
        std::hypot(
            std::max(share * sigma * fit.incut_per_mm, fit.incut_error_deg),
            std::hypot(doubt.incut_deg, 2 * mesh_mm / std::max(1.0, fit.contact_mm) * 180 / M_PI)));
    setFacts(edge, fit, grip);
    grip.set_guesswork_share(guesswork);
  }

  /// What is not a measured length or angle with an uncertainty of its own.
  static void setFacts(const SectionEdge& edge, const EdgeFit& fit, Grip& grip) {
    grip.set_lip_sweep_deg(fit.lip_sweep_deg);
    grip.set_lip_rms_mm(fit.lip_rms_mm);
    grip.set_lip_sharp(fit.sharp);
    if (fit.lip_centre_mm) {
      grip.mutable_lip_centre_mm()->set_x(fit.lip_centre_mm->x());
      grip.mutable_lip_centre_mm()->set_y(fit.lip_centre_mm->y());
    }
    grip.set_lip_height_mm(fit.lip_u_mm);
    grip.set_lip_z_mm(fit.lip_z_mm);
    grip.set_root_at_wall(edge.at_wall);
    grip.set_cut_short(edge.cut_short);
    grip.set_contact_mm(fit.contact_mm);
  }

  /// Cuts the section that is kept and drawn, and remembers the line that holds the edge.
  void describeSection(double offset, const SectionEdge* edge, GripAt& out) {
    const std::vector<OutsideLine> lines = outsideLines(cutter_.cutOne(planes_, offset), outside_);
    const OutsideLine* chosen = nullptr;
    double best = edge ? 1e300 : -1;
    for (const OutsideLine& line : lines) {
      if (!edge) {
        if (line.length_mm() > best) best = line.length_mm(), chosen = &line;
        continue;
      }
      const double d = (line.pointAt(edge->lip_mm) - edge->lip_at_mm).norm() +
                       (line.pointAt(edge->root_mm) - edge->root_at_mm).norm();
      if (d < best) best = d, chosen = &line;
    }
    out.section.set_rotation_deg(rotation_deg_);
    out.section.set_offset_mm(offset);
    if (!chosen) return;
    best_line_ = *chosen;
    Eigen::Vector2d last(1e300, 1e300);
    for (std::size_t i = 0; i < chosen->points.size(); ++i) {
      const Eigen::Vector2d& p = chosen->points[i].at_mm;
      if ((p - last).norm() < 0.3 && i + 1 < chosen->points.size()) continue;
      last = p;
      Point2* point = out.section.add_points_mm();
      point->set_x(p.x());
      point->set_y(p.y());
    }
  }

  const GripSource& source_;
  const MeasureOptions& options_;
  double rotation_deg_;
  SectionCutter& cutter_;
  PlaneFamily planes_;
  OutsideOptions outside_;
  EdgeOptions edge_options_;
  double middle_mm_ = 0;   ///< Of the section where there is no grip.
  int wanted_slice_ = -1;  ///< The only one in which a grip may lie; -1: any.
  OutsideLine best_line_;
};

}  // namespace

std::vector<GripAt> bestGrips(const GripSource& source, const std::vector<double>& rotations_deg,
                              const MeasureOptions& options, const Progress& progress) {
  std::vector<GripAt> grips(rotations_deg.size());
  tbb::enumerable_thread_specific<SectionCutter> cutters(
      [&] { return SectionCutter(source.mesh, source.topology); });
  std::mutex speak;
  std::atomic<bool> stop = false;
  std::size_t done = 0;
  tbb::parallel_for(std::size_t{0}, rotations_deg.size(), [&](std::size_t i) {
    if (stop) return;
    grips[i] = RotationSearch(source, options, rotations_deg[i], cutters.local()).search();
    const std::lock_guard<std::mutex> lock(speak);
    ++done;
    if (progress && !progress("measuring grips", static_cast<double>(done) /
                                                     static_cast<double>(rotations_deg.size())))
      stop = true;
  });
  if (stop) throw Interrupted();
  return grips;
}

}  // namespace holdshelf
