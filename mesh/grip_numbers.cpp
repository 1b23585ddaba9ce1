// SPDX-License-Identifier: Apache-2.0
#include "mesh/grip_numbers.h"

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

#include "mesh/edge.h"
#include "mesh/precision.h"

namespace holdshelf {
namespace {

constexpr double kSharedAlongLip = 0.5;  // See sharedAlongLip_mm.
constexpr double kOfCloserLook = 0.5;    // See byDefinition.

/// Standard uncertainties of an edge's numbers from where exactly its parts begin and end.
struct ByDefinition {
  double depth_mm = 0, radius_mm = 0, incut_deg = 0;
};

void set(Measured* m, double value, double sigma) {
  m->set_value(value);
  m->set_sigma(sigma);
}

/// What is not a measured length or angle with an uncertainty of its own.
void setFacts(const SectionEdge& edge, const EdgeFit& fit, Grip& grip) {
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

/// One line with the edge whose numbers are wanted.
class EdgeNumbers {
 public:
  EdgeNumbers(const GripSections& sections, const OutsideLine& line)
      : sections_(sections),
        line_(line),
        mesh_(sections.source().mesh),
        precision_(sections.source().precision),
        planes_(sections.planes()),
        outside_(sections.outside()) {}

  /// Fits the best place; where noise leaves its numbers uncertain, together with as many of the
  /// sections within a finger's width as it takes.
  EdgeFit fitAt(const EdgeRun& run, std::size_t place) const {
    const SectionEdge& edge = run[place].edge;
    const double resolution = precision_.resolution_mm;
    std::vector<EdgeCut> cuts = {
        {line_, edge, sections_.optionsAt(planes_.offset(run[place].slice))}};
    EdgeFit alone = fitEdge(line_, edge, cuts[0].options, resolution);
    double guesswork = 0;
    const double sigma =
        precision_.sharing() * localSigma(line_, edge.arc_begin_mm, edge.root_mm, guesswork);
    const double excess = std::max(
        {sigma * alone.lip_radius_per_mm / std::max(0.05, 0.02 * alone.lip_radius_mm),
         sigma * alone.incut_per_mm / 0.3, 2 * sigma / std::sqrt(alone.lip_points) / 0.05});
    if (excess < 1) return alone;
    // The excess has no bound where an edge is hardly there, so it is cut off before it is counted.
    const double most = sections_.options().finger_mm / 2 / planes_.step_mm;
    addCutsBeside(run, place, static_cast<int>(std::min(most, 1 + excess * excess / 2)), cuts);
    return fitEdgeTogether(cuts, resolution);
  }

  /// Where a lip turns into the grip face and that into the root is a matter of how finely one
  /// looks, and on round holds the numbers depend on it. The same edge with half the window and
  /// half the allowance for noise tells by how much; a crisp edge gives the same again.
  ByDefinition byDefinition(double offset, const SectionEdge& like, const EdgeFit& fit) const {
    OutsideOptions outside = outside_;
    outside.window_mm /= 2;
    outside.step_mm = std::clamp(outside.window_mm / 4, 0.1, 0.75);
    EdgeOptions options = sections_.optionsAt(offset);
    options.kernel_mm /= 2;
    options.facing_sigma_deg /= 2;
    options.turn_sigma_deg /= 2;
    ByDefinition out;
    double nearest = 3 + 2 * planes_.step_mm;
    for (const OutsideLine& line :
         outsideLines(sections_.cutter().cutOne(planes_, offset), outside))
      for (const SectionEdge& edge : findEdges(line, options)) {
        const double d = lipDistance(like, edge);
        if (d >= nearest) continue;
        nearest = d;
        const EdgeFit closer = fitEdge(line, edge, options, precision_.resolution_mm);
        out = {std::abs(closer.depth_mm - fit.depth_mm), 0,
               std::abs(closer.incut_deg - fit.incut_deg)};
        if (!closer.sharp) out.radius_mm = std::abs(closer.lip_radius_mm - fit.lip_radius_mm);
      }
    // On a face that turns, a contact that begins elsewhere lies at another angle.
    const double by_begin = fit.contact_bend_deg_per_mm * sections_.edgeOptions().kernel_mm;
    return {kOfCloserLook * out.depth_mm, kOfCloserLook * out.radius_mm,
            std::hypot(kOfCloserLook * out.incut_deg, by_begin)};
  }

  void setNumbers(const SectionEdge& edge, const EdgeFit& fit, const ByDefinition& doubt,
                  Grip& grip) const {
    double guesswork = 0;
    const double sigma = localSigma(line_, edge.arc_begin_mm - 2, edge.root_mm + 2, guesswork);
    const double mesh_mm = precision_.ofResolution_mm();
    const double share = precision_.sharing();
    // A height is read at the end of its line, where it is twice as uncertain as in the middle.
    const auto mean = [&](int points) {
      return points > 1 ? std::min(1.0, 2 * share / std::sqrt(points)) * sigma : sigma;
    };
    const double depth = std::hypot(
        std::max(std::hypot(mean(fit.lip_points), edge.at_wall ? sigma : mean(fit.root_points)),
                 fit.depth_error_mm),
        std::hypot(doubt.depth_mm, 1.4 * mesh_mm));
    set(grip.mutable_edge_depth_mm(), fit.depth_mm, depth);
    const double r = fit.lip_radius_mm, resolution = precision_.resolution_mm;
    const double flat = resolution * resolution / (8 * std::max(r, 0.1));
    set(grip.mutable_lip_radius_mm(), r,
        fit.sharp
            ? resolution / 2
            : std::sqrt(std::pow(share * sigma * fit.lip_radius_per_mm, 2) + flat * flat +
                        1e-4 * r * r + std::pow(fit.lip_rms_mm, 2) / 4 +
                        std::pow(doubt.radius_mm, 2) + std::pow(sharedAlongLip_mm(edge, fit), 2)));
    setAlong(edge, fit, depth, grip);
    set(grip.mutable_incut_deg(), fit.incut_deg,
        std::hypot(
            std::max(share * sigma * fit.incut_per_mm, fit.incut_error_deg),
            std::hypot(doubt.incut_deg, 2 * mesh_mm / std::max(1.0, fit.contact_mm) * 180 / M_PI)));
    setFacts(edge, fit, grip);
    grip.set_guesswork_share(guesswork);
  }

 private:
  double localSigma(const OutsideLine& line, double from, double to, double& guesswork) const {
    const auto [a, b] = line.pointsBetween(from, to);
    double variance = 0, guessed = 0;
    for (std::size_t k = a; k < b; ++k) {
      const SectionPoint& p = line.points[k];
      const auto mix = [&](const auto& attribute) {
        return (1 - p.share) * static_cast<double>(attribute[p.from]) +
               p.share * static_cast<double>(attribute[p.to]);
      };
      const double s = mesh_.sigma_mm.empty() ? precision_.sigma_mm : mix(mesh_.sigma_mm);
      variance += s * s;
      if (!mesh_.guesswork.empty()) guessed += mix(mesh_.guesswork) > 0.5;
    }
    const double n = std::max<double>(1, static_cast<double>(b - a));
    guesswork = guessed / n;
    return b > a ? std::sqrt(variance / n) : precision_.sigma_mm;
  }

  /// The run's edge in up to `side` sections on each side of a place.
  void addCutsBeside(const EdgeRun& run, std::size_t place, int side,
                     std::vector<EdgeCut>& cuts) const {
    PlaneFamily planes = planes_;
    const int first = std::max(0, run[place].slice - side);
    planes.first_mm = planes_.offset(first);
    planes.count = std::min(planes_.count, run[place].slice + side + 1) - first;
    sections_.cutter().cut(planes, [&](int k, const SectionLines& lines) {
      const auto at = std::find_if(run.begin(), run.end(), [&](const EdgeAt& e) {
        return e.slice == first + k && e.slice != run[place].slice;
      });
      if (at == run.end()) return;
      for (OutsideLine& line : outsideLines(lines, outside_))
        if (line.length_mm() >= at->edge.root_mm - 0.01 &&
            (line.pointAt(at->edge.lip_mm) - at->edge.lip_at_mm).norm() < 0.01)
          cuts.push_back({std::move(line), at->edge, sections_.optionsAt(planes.offset(k))});
    });
  }

  /// What the surface errs along a whole lip no number of sections averages out: as much as half a
  /// vertex's uncertainty in the arc's middle against its ends, which is the radius times one
  /// less the cosine of half its sweep. Estimated roughness is not shared.
  double sharedAlongLip_mm(const SectionEdge& edge, const EdgeFit& fit) const {
    if (mesh_.sigma_mm.empty()) return 0;
    double guesswork = 0;
    const double sigma = localSigma(line_, edge.arc_begin_mm, edge.arc_end_mm, guesswork);
    const double height = 1 - std::cos(std::clamp(fit.lip_sweep_deg, 30.0, 180.0) * M_PI / 360);
    return kSharedAlongLip * sigma / height;
  }

  /// The length along the surface, whose uncertainty has the depth's and those of its ends in it.
  void setAlong(const SectionEdge& edge, const EdgeFit& fit, double depth_sigma_mm,
                Grip& grip) const {
    const double r = fit.lip_radius_mm;
    // Where on a round lip the length begins moves with its radius and with the face's direction.
    const double begin = fit.sharp ? 0.3 * precision_.resolution_mm
                                   : std::hypot(0.6 * grip.lip_radius_mm().sigma(),
                                                r * precision_.facingSigma_deg() * M_PI / 180);
    // So does where it ends: at the wall meshes are cut off, and a root turns back gradually.
    const double end =
        edge.at_wall ? 0.5 * outside_.back_mm : 0.02 * (edge.root_mm - edge.face_end_mm);
    set(grip.mutable_edge_along_mm(), fit.along_mm,
        std::hypot(depth_sigma_mm * std::max(1.0, fit.along_mm / std::max(1.0, fit.depth_mm)),
                   std::hypot(begin, end, precision_.ofResolution_mm())));
  }

  const GripSections& sections_;
  const OutsideLine& line_;
  const TriangleMesh& mesh_;
  const MeshPrecision& precision_;
  const PlaneFamily& planes_;
  const OutsideOptions& outside_;
};

}  // namespace

EdgeFit setEdgeNumbers(const GripSections& sections, const EdgeRun& run, std::size_t place,
                       const OutsideLine& line, Grip& grip) {
  const EdgeNumbers numbers(sections, line);
  const SectionEdge& edge = run[place].edge;
  const double offset = sections.planes().offset(run[place].slice);
  EdgeFit fit = numbers.fitAt(run, place);
  numbers.setNumbers(edge, fit, numbers.byDefinition(offset, edge, fit), grip);
  return fit;
}

}  // namespace holdshelf
