// SPDX-License-Identifier: Apache-2.0
#include "catalog/wear.h"

#include <algorithm>
#include <cmath>

#include "catalog/grip_model.h"
#include "catalog/grip_words.h"
#include "catalog/lip_growth.h"
#include "catalog/lost_file.h"
#include "catalog/measured_text.h"
#include "catalog/polish.h"
#include "catalog/show_text.h"
#include "catalog/stored_mesh.h"
#include "catalog/usual_mounting.h"
#include "mesh/bad_input.h"
#include "mesh/deviation_plot.h"
#include "mesh/measure_shape.h"

namespace holdshelf {
namespace {

constexpr double kSeatRim_mm = 4;  // Around a bolt hole, which photos see into badly.

TriangleMesh transformed(TriangleMesh mesh, const Eigen::Affine3d& T) {
  for (auto& v : mesh.vertices_mm) v = T * v;
  for (auto& n : mesh.normals) n = T.linear() * n;
  return mesh;
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

/// Before each step that takes long.
void goOn(const Progress& progress) {
  if (progress && !progress("comparing scans", 0)) throw Interrupted();
}

}  // namespace

ComparedScans compareInFull(const TriangleMesh& baseline, const Shape& baseline_shape,
                            const TriangleMesh& later, const WearGrades& grades,
                            const Progress& progress, const std::optional<Mounting>& mounting,
                            const TexturePair& textures) {
  ComparedScans compared;
  Wear& wear = compared.wear;
  goOn(progress);
  const RegistrationTarget before(baseline), now(later);
  const Registered registered = registerScans(before, now);
  wear.set_median_mm(registered.median_mm);
  const Shape shape = measureShape(transformed(later, registered.transform()), {}, progress);
  goOn(progress);
  compared.deviation = deviationOfScans(before, now, registered, baseline_shape);
  compared.baseline = before.mesh;
  addChunks(compared.deviation, wear);
  addLipGrowth(before.mesh, compared.deviation, baseline_shape, shape, grades.sure_sigmas, wear);
  addForces(baseline_shape, shape, mounting, wear);
  if (textures.baseline != nullptr && textures.later != nullptr)
    *wear.mutable_polish() =
        comparePolish(*textures.baseline, *textures.later, registered.transform());
  markRubbedChunks(wear);
  gradeWear(grades, wear);
  return compared;
}

Wear compareScans(const TriangleMesh& baseline, const Shape& baseline_shape,
                  const TriangleMesh& later, const WearGrades& grades, const Progress& progress,
                  const std::optional<Mounting>& mounting) {
  return compareInFull(baseline, baseline_shape, later, grades, progress, mounting).wear;
}

ComparedScans comparisonOf(const Library& library, const std::string& id, const WearGrades& grades,
                           const Progress& progress) {
  goOn(progress);
  const auto [first, last] = outerScans(library.hold(id));
  const std::string old_ply = library.blobs().get(first.mesh_blob()),
                    new_ply = library.blobs().get(last.mesh_blob());
  const TextureCells then = textureIn(old_ply), now = textureIn(new_ply);
  ComparedScans compared = compareInFull(storedMesh(old_ply, id + ".ply"), first.shape(),
                                         storedMesh(new_ply, id + ".ply"), grades, progress,
                                         usualMounting(library.history(id)), {&then, &now});
  compared.wear.set_hold(id);
  compared.wear.set_baseline_scan(first.id());
  compared.wear.set_scan(last.id());
  return compared;
}

Wear wearOf(const Library& library, const std::string& id, const WearGrades& grades,
            const Progress& progress) {
  return comparisonOf(library, id, grades, progress).wear;
}

WearMap wearMapOf(const Library& library, const std::string& id, const Progress& progress) {
  goOn(progress);
  const auto [first, last] = outerScans(library.hold(id));
  WearMap map{storedMesh(library.blobs().get(first.mesh_blob()), id + ".ply"), {}};
  const RegistrationTarget before(map.baseline);
  const RegistrationTarget now(storedMesh(library.blobs().get(last.mesh_blob()), id + ".ply"));
  goOn(progress);
  const Registered registered = registerScans(before, now);
  goOn(progress);
  map.deviation = deviationOfScans(before, now, registered, first.shape());
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
  for (const std::string& id : ids) {
    if (const auto wear = unlessLost([&] { return wearOf(library, id, grades, progress); }))
      *list.add_wears() = *wear;
    else
      list.add_unread(id);
  }
  std::stable_sort(list.mutable_wears()->begin(), list.mutable_wears()->end(),
                   [](const Wear& x, const Wear& y) {
                     if (std::abs(loss(x) - loss(y)) > 0.01) return loss(x) > loss(y);
                     return surestGrowth_mm(x) > surestGrowth_mm(y);
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
