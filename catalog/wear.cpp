// SPDX-License-Identifier: Apache-2.0
#include "catalog/wear.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "catalog/grip_model.h"
#include "catalog/grip_words.h"
#include "catalog/lip_loss.h"
#include "catalog/measured_text.h"
#include "catalog/polish.h"
#include "catalog/show_text.h"
#include "mesh/bad_input.h"
#include "mesh/deviation_plot.h"
#include "mesh/measure_shape.h"
#include "mesh/mesh_io.h"
#include "mesh/section.h"

namespace holdshelf {
namespace {

constexpr double kSeatRim_mm = 4;   // Around a bolt hole, which photos see into badly.
constexpr double kLipReach_mm = 6;  // Around a lip, where its loss is looked for.
// A square corner rounded by a further dr loses 0.41 dr at its middle; the patch mean shows less.
constexpr double kLossPerGrowth = 0.1;

Measured difference(const Measured& now, const Measured& before) {
  Measured d;
  d.set_value(now.value() - before.value());
  d.set_sigma(std::hypot(now.sigma(), before.sigma()));
  return d;
}

TriangleMesh transformed(TriangleMesh mesh, const Eigen::Affine3d& T) {
  for (auto& v : mesh.vertices_mm) v = T * v;
  for (auto& n : mesh.normals) n = T.linear() * n;
  return mesh;
}

std::map<int, const Grip*> byRotation(const Shape& shape) {
  std::map<int, const Grip*> grips;
  for (const Grip& grip : shape.grips())
    grips[static_cast<int>(std::lround(grip.rotation_deg()))] = &grip;
  return grips;
}

void addLips(const TriangleMesh& baseline, const Deviation& deviation, const Shape& before,
             const Shape& now, Wear& wear) {
  const auto old_grips = byRotation(before), new_grips = byRotation(now);
  for (const auto& [rotation, old_grip] : old_grips) {
    const auto found = new_grips.find(rotation);
    // Lips that are not the same place, or too sharp to have a radius, say nothing of wear.
    if (found == new_grips.end()) continue;
    const Grip& grip = *found->second;
    const bool same_lip = std::abs(grip.lip_height_mm() - old_grip->lip_height_mm()) < 4 &&
                          std::abs(grip.lip_z_mm() - old_grip->lip_z_mm()) < 4;
    if (!same_lip || !grip.has_lip_radius_mm() || !old_grip->has_lip_radius_mm()) continue;
    LipChange& lip = *wear.add_lips();
    lip.set_rotation_deg(rotation);
    *lip.mutable_fitted_growth_mm() = difference(grip.lip_radius_mm(), old_grip->lip_radius_mm());
    *lip.mutable_radius_growth_mm() = lip.fitted_growth_mm();
    if (const auto loss = lipLoss(baseline, deviation, *old_grip)) {
      *lip.mutable_radius_growth_mm() = loss->growth_mm;
      *lip.mutable_lost_mm3() = loss->lost_mm3;
    }
    *lip.mutable_depth_change_mm() = difference(grip.edge_depth_mm(), old_grip->edge_depth_mm());
    *lip.mutable_incut_change_deg() = difference(grip.incut_deg(), old_grip->incut_deg());
  }
}

/// Where a grip's lip lies, frame H.
Eigen::Vector3d lipPlace(const Grip& grip) {
  const PlaneFamily planes = pullPlanes(grip.rotation_deg());
  return grip.lip_height_mm() * planes.right + grip.lip_z_mm() * planes.up +
         grip.offset_mm() * planes.normal;
}

/// The deepest loss of the surface around a place; 0 where none is lost.
double lossNear(const TriangleMesh& mesh, const Deviation& deviation,
                const Eigen::Vector3d& place) {
  double loss = 0;
  for (std::size_t i = 0; i < deviation.signed_mm.size(); ++i)
    if ((mesh.vertices_mm[i] - place).squaredNorm() < kLipReach_mm * kLipReach_mm)
      loss = std::max(loss, -static_cast<double>(deviation.signed_mm[i]));
  return loss;
}

/// A fitted radius can jump between two readings of one shape; a lip that wore has also lost
/// material, which the deviation map shows or not.
bool grew(const LipChange& lip, double loss_mm, double limit_mm, double sigmas) {
  const Measured& growth = lip.radius_growth_mm();
  return growth.value() > sigmas * growth.sigma() &&
         loss_mm > std::max(limit_mm, kLossPerGrowth * growth.value());
}

/// One rotation of many is beyond any limit by chance now and then, but its neighbours are not.
void markSure(const TriangleMesh& mesh, const Shape& before, const Deviation& deviation,
              double sigmas, Wear& wear) {
  const auto grips = byRotation(before);
  std::map<int, bool> beyond;
  for (const LipChange& lip : wear.lips()) {
    const int rotation = static_cast<int>(std::lround(lip.rotation_deg()));
    const double loss = lossNear(mesh, deviation, lipPlace(*grips.at(rotation)));
    beyond[rotation] = grew(lip, loss, deviation.limit_mm, sigmas);
  }
  const auto at = [&](int rotation) {
    const auto found = beyond.find((rotation + 360) % 360);
    return found != beyond.end() && found->second;
  };
  for (LipChange& lip : *wear.mutable_lips()) {
    const int rotation = static_cast<int>(std::lround(lip.rotation_deg()));
    lip.set_sure(at(rotation) && (at(rotation - 5) || at(rotation + 5)));
  }
}

const LipChange* mostGrown(const Wear& wear) {
  const LipChange* most = nullptr;
  for (const LipChange& lip : wear.lips())
    if (lip.sure() &&
        (most == nullptr || lip.radius_growth_mm().value() > most->radius_growth_mm().value()))
      most = &lip;
  return most;
}

void grade(const WearGrades& grades, Wear& wear) {
  const LipChange* lip = mostGrown(wear);
  const double growth = lip ? lip->radius_growth_mm().value() : 0;
  const bool chipped = std::any_of(wear.chunks().begin(), wear.chunks().end(), [&](const auto& c) {
    return c.volume_mm3().value() >= grades.chip_mm3 && c.deepest_mm() >= grades.chip_deep_mm;
  });
  std::string word = "none seen";
  if (growth >= grades.rounded_mm) word = "rounded";
  if (growth >= grades.worn_mm) word = "worn";
  if (growth >= grades.worn_out_mm) word = "worn out";
  if (chipped) word = word == "none seen" ? "chipped" : word + ", chipped";
  wear.set_grade(word);
  std::string reason;
  if (lip)
    reason = "lip radius " + measuredText(lip->radius_growth_mm(), "mm") + " larger, turned " +
             decimalText(lip->rotation_deg(), 0) + "°";
  if (!wear.chunks().empty())
    reason += (reason.empty() ? "" : "; ") + measuredText(wear.lost_mm3(), "mm³") + " gone in " +
              std::to_string(wear.chunks_size()) +
              (wear.chunks_size() == 1 ? " place, " : " places, ") +
              decimalText(wear.chunks(0).deepest_mm(), 1) + " mm at the deepest";
  if (word == "none seen" && !reason.empty()) reason += ", too little to be called wear";
  if (std::any_of(wear.chunks().begin(), wear.chunks().end(),
                  [](const LostChunk& chunk) { return chunk.rubbed(); }))
    reason +=
        "; the texture is gone there too, and photos tell little of a smooth spot's shape: feel "
        "and look whether anything is missing";
  if (reason.empty())
    reason = "no change beyond the detection limit of " +
             decimalText(wear.detection_limit_mm(), 2) + " mm";
  wear.set_reason(reason);
}

void addChunks(const Deviation& deviation, Wear& wear) {
  *wear.mutable_lost_mm3() = deviation.lost_mm3;
  wear.set_detection_limit_mm(deviation.limit_mm);
  for (const LostPiece& piece : deviation.pieces) {
    LostChunk& chunk = *wear.add_chunks();
    chunk.set_x_mm(piece.centre_mm.x());
    chunk.set_y_mm(piece.centre_mm.y());
    chunk.set_z_mm(piece.centre_mm.z());
    *chunk.mutable_volume_mm3() = piece.volume_mm3;
    chunk.set_deepest_mm(piece.deepest_mm);
    chunk.set_area_mm2(piece.area_mm2);
  }
}

/// The rotation in which a shape holds best under a downward pull on a vertical wall.
Mounting bestMounting(const GripModel& model) {
  Mounting best;
  double most = -1;
  for (int step = 0; step < GripModel::kSteps; ++step) {
    Mounting mounting;
    mounting.rotation_deg = step * 360.0 / GripModel::kSteps;
    const double force = model.hand(mounting).fraction_of_jug;
    if (force > most) {
      most = force;
      best = mounting;
    }
  }
  return best;
}

/// Both scans in one and the same mounting: the later one has been laid on the baseline.
void addForces(const Shape& before, const Shape& now, const std::optional<Mounting>& mounting,
               Wear& wear) {
  const GripModel old_model(before), new_model(now);
  const Mounting usual = mounting ? *mounting : bestMounting(old_model);
  wear.set_mounting_known(mounting.has_value());
  wear.set_usual_rotation_deg(usual.rotation_deg);
  wear.set_usual_wall_angle_deg(usual.wall_angle_deg);
  wear.set_jug_before(old_model.hand(usual).fraction_of_jug);
  wear.set_jug_now(new_model.hand(usual).fraction_of_jug);
}

double loss(const Wear& wear) { return wear.jug_before() - wear.jug_now(); }

double growthOf(const Wear& wear) {
  const LipChange* lip = mostGrown(wear);
  return lip ? lip->radius_growth_mm().value() : 0;
}

Deviation deviationOfScans(const RegistrationTarget& before, const RegistrationTarget& now,
                           const Registered& registered, const Shape& baseline_shape) {
  DeviationOptions options;
  for (const BoltSeat& seat : baseline_shape.bolt_seats())
    options.spared.push_back(
        {{seat.axis_mm().x(), seat.axis_mm().y()},
         std::max(seat.bore_mm().value(), seat.recess_mm().value()) / 2 + kSeatRim_mm});
  return deviationOf(before, now, registered, options);
}

Registered registerScans(const RegistrationTarget& before, const RegistrationTarget& now) {
  RegistrationOptions options;
  options.try_mirrored = options.try_sizes = false;
  return registerMeshes(before, now, options);
}

/// First and last scan of a hold. @throws BadInput  There is only one.
std::pair<Scan, Scan> outerScans(const Hold& hold) {
  if (hold.scans_size() < 2)
    throw BadInput(hold.id() +
                   " has been scanned once only: scan it again after use with holdshelf intake "
                   "--new-scan-of " +
                   hold.id() + ".");
  return {hold.scans(0), hold.scans(hold.scans_size() - 1)};
}

}  // namespace

std::optional<Mounting> usualMounting(const std::vector<Event>& events) {
  std::map<std::pair<long, long>, int> times;
  std::pair<long, long> most{0, 0};
  for (const Event& event : events) {
    const Move& move = event.moved();
    if (!event.has_moved() || move.status() != WALL || !move.has_rotation_deg()) continue;
    const std::pair<long, long> mounting{std::lround(move.rotation_deg()),
                                         std::lround(move.wall_angle_deg())};
    // Of two as frequent ones the later.
    if (++times[mounting] >= times[most]) most = mounting;
  }
  if (times.empty()) return std::nullopt;
  Mounting usual;
  usual.rotation_deg = static_cast<double>(most.first);
  usual.wall_angle_deg = static_cast<double>(most.second);
  return usual;
}

ComparedScans compareInFull(const TriangleMesh& baseline, const Shape& baseline_shape,
                            const TriangleMesh& later, const WearGrades& grades,
                            const Progress& progress, const std::optional<Mounting>& mounting,
                            const TexturePair& textures) {
  ComparedScans compared;
  Wear& wear = compared.wear;
  const RegistrationTarget before(baseline), now(later);
  const Registered registered = registerScans(before, now);
  wear.set_median_mm(registered.median_mm);
  const Shape shape = measureShape(transformed(later, registered.transform()), {}, progress);
  compared.deviation = deviationOfScans(before, now, registered, baseline_shape);
  compared.baseline = before.mesh;
  addChunks(compared.deviation, wear);
  addLips(before.mesh, compared.deviation, baseline_shape, shape, wear);
  markSure(before.mesh, baseline_shape, compared.deviation, grades.sure_sigmas, wear);
  addForces(baseline_shape, shape, mounting, wear);
  if (textures.baseline != nullptr && textures.later != nullptr)
    *wear.mutable_polish() =
        comparePolish(*textures.baseline, *textures.later, registered.transform());
  markRubbedChunks(wear);
  grade(grades, wear);
  return compared;
}

Wear compareScans(const TriangleMesh& baseline, const Shape& baseline_shape,
                  const TriangleMesh& later, const WearGrades& grades, const Progress& progress,
                  const std::optional<Mounting>& mounting) {
  return compareInFull(baseline, baseline_shape, later, grades, progress, mounting).wear;
}

ComparedScans comparisonOf(const Library& library, const std::string& id, const WearGrades& grades,
                           const Progress& progress) {
  const auto [first, last] = outerScans(library.hold(id));
  const std::string old_ply = library.blobs().get(first.mesh_blob()),
                    new_ply = library.blobs().get(last.mesh_blob());
  const TextureCells then = textureIn(old_ply), now = textureIn(new_ply);
  ComparedScans compared =
      compareInFull(parseMesh(old_ply, id + ".ply"), first.shape(), parseMesh(new_ply, id + ".ply"),
                    grades, progress, usualMounting(library.history(id)), {&then, &now});
  compared.wear.set_hold(id);
  compared.wear.set_baseline_scan(first.id());
  compared.wear.set_scan(last.id());
  return compared;
}

Wear wearOf(const Library& library, const std::string& id, const WearGrades& grades,
            const Progress& progress) {
  return comparisonOf(library, id, grades, progress).wear;
}

WearMap wearMapOf(const Library& library, const std::string& id) {
  const auto [first, last] = outerScans(library.hold(id));
  WearMap map{parseMesh(library.blobs().get(first.mesh_blob()), id + ".ply"), {}};
  const RegistrationTarget before(map.baseline);
  const RegistrationTarget now(parseMesh(library.blobs().get(last.mesh_blob()), id + ".ply"));
  map.deviation = deviationOfScans(before, now, registerScans(before, now), first.shape());
  return map;
}

Plot wearPlot(const ComparedScans& compared) {
  const Wear& wear = compared.wear;
  return plotDeviation(compared.baseline, compared.deviation, wear.hold() + ": " + wear.grade(),
                       {"Now against the first scan: " + wear.reason() + ".",
                        "A scan does not see cracks: look, flex, tap."});
}

WearList wearOfAll(const Library& library, const WearGrades& grades, const Progress& progress) {
  WearList list;
  list.set_caution(kScanCaution);
  std::vector<std::string> ids;
  library.forEachHold([&](std::int64_t, const Hold& hold) {
    if (hold.scans_size() >= 2)
      ids.push_back(hold.id());
    else
      list.add_skipped(hold.id());
  });
  for (const std::string& id : ids) *list.add_wears() = wearOf(library, id, grades, progress);
  std::stable_sort(list.mutable_wears()->begin(), list.mutable_wears()->end(),
                   [](const Wear& x, const Wear& y) {
                     if (std::abs(loss(x) - loss(y)) > 0.01) return loss(x) > loss(y);
                     return growthOf(x) > growthOf(y);
                   });
  return list;
}

std::string wearText(const Wear& wear) {
  const std::string polish = polishText(wear.polish());
  return wear.hold() + "  " + wear.grade() + ": " + wear.reason() + "; holds " +
         decimalText(wear.jug_before(), 2) + " of a jug at first, " +
         decimalText(wear.jug_now(), 2) + " now, turned " +
         decimalText(wear.usual_rotation_deg(), 0) + "° on a wall " +
         decimalText(wear.usual_wall_angle_deg(), 0) + "° past vertical" +
         (wear.mounting_known() ? " as it usually hangs." : ".") +
         (polish.empty() ? "" : "\n    Hint, apart from the shape: " + polish + ".");
}

}  // namespace holdshelf
