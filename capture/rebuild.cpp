// SPDX-License-Identifier: Apache-2.0
#include "capture/rebuild.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "capture/calibrate.h"
#include "capture/cameras_file.h"
#include "capture/colour.h"
#include "capture/contact_sheet.h"
#include "capture/dense_surface.h"
#include "capture/hold_light.h"
#include "capture/hold_shift.h"
#include "capture/hull.h"
#include "capture/paper_size.h"
#include "capture/silhouette.h"
#include "capture/stage.h"
#include "capture/stage_store.h"
#include "capture/stored_stages.h"
#include "capture/surface_uncertainty.h"
#include "capture/texture_detail.h"
#include "mesh/bad_input.h"
#include "mesh/bolt_seat.h"
#include "mesh/hold_frame.h"
#include "mesh/png.h"
#include "mesh/raster.h"

namespace holdshelf {
namespace {

using Eigen::Vector3d;

/// Finished stages of this very capture under these options, quality aside.
StageStore stagesOf(const std::vector<std::filesystem::path>& photos, const std::optional<Mat>& mat,
                    const RebuildOptions& options) {
  if (options.stages_folder.empty()) return {};
  std::vector<std::filesystem::path> files = photos;
  if (options.cameras_file) files.push_back(*options.cameras_file);
  std::vector<double> numbers = {options.mat_scale, double(options.scale_from_sheet),
                                 options.cameras_unit_mm};
  if (options.box_mm)
    for (const Vector3d& corner : {options.box_mm->min(), options.box_mm->max()})
      numbers.insert(numbers.end(), corner.begin(), corner.end());
  std::string inputs = programFingerprint();
  inputs += filesFingerprint(files);
  if (mat) inputs += mat->SerializeAsString();
  inputs.append(reinterpret_cast<const char*>(numbers.data()), numbers.size() * sizeof(double));
  return {options.stages_folder, inputs};
}

/// Scales a capture whose sheet says that it was not printed to scale.
void correctPrint(CalibratedCapture& capture) {
  const PaperCheck& paper = capture.paper;
  const double factor = paper.suggested_mat_scale();
  if (!trustsSheetScale(paper)) return;
  for (View& view : capture.views) view.camera.T_camera_hold.translation() *= factor;
  for (Vector3d& p : capture.mat_points_H_mm) p *= factor;
  capture.T_hold_mat.translation() *= factor;
  capture.mat_bend_mm *= factor;
  capture.plane_sigma_mm *= factor;
  capture.mat_scale = factor;
  char text[320];
  std::snprintf(text, sizeof text,
                "The mat was not printed to scale: by its own edges the sheet is %s, so the print "
                "has %.2f %% of its size. All lengths were corrected by that (to 0.5 %%, as sheets "
                "are cut); for more, measure the mat's ruler and give what its 100 mm really are.",
                paper.paper().c_str(), 100 * factor);
  std::erase(capture.warnings, paper.message());
  capture.paper.set_message(text);
  capture.warnings.emplace_back(text);
}

CalibratedCapture posedViews(const std::vector<std::filesystem::path>& photos,
                             const std::optional<Mat>& mat, const RebuildOptions& options,
                             const Progress& progress, const StageStore& store) {
  if (options.cameras_file)
    return knownCapture(photos, readCameras(*options.cameras_file, options.cameras_unit_mm),
                        progress);
  if (!mat)
    throw BadInput(
        "There is neither a mat nor a cameras file: give --mat MAT.json, or --cameras "
        "FILE with --box.");
  if (const auto bytes = store.read("calibration"))
    if (auto capture = restoredViews(*bytes, photos, progress)) return std::move(*capture);
  CalibrateOptions calibrate;
  calibrate.mat_scale = options.mat_scale;
  CalibratedCapture capture = calibrateCapture(photos, *mat, calibrate, progress);
  if (options.scale_from_sheet && options.mat_scale == 1) correctPrint(capture);
  store.write("calibration", storedViews(capture));
  return capture;
}

void refusePhoto(CalibratedCapture& capture, const std::string& photo, const std::string& reason) {
  for (PhotoReport& report : capture.reports)
    if (report.photo() == photo) {
      report.set_verdict(PhotoReport::DISAGREES);
      report.set_reason(reason);
    }
}

/// Where the hold was pushed half way, keeps the photos of the larger side.
/// @throws BadInput  Neither side has enough.
void keepOneStanding(CalibratedCapture& capture, const SilhouetteInput& input,
                     const Progress& progress) {
  constexpr size_t kNeeded = 8;
  const HoldShift shift = findHoldShift(capture.views, input, progress);
  if (!shift.moved()) return;
  if (capture.mat_in_view.covered())
    throw BadInput(
        "Something covers one side of the mat (no marker is seen over " +
        std::to_string(std::lround(capture.mat_in_view.gap_deg)) +
        " degrees) and cannot be told from the hold beside it: clear the mat of all but the hold, "
        "put that in its middle, and shoot again.");
  if (!shift.explained()) {
    capture.warnings.emplace_back(
        "The hold's outlines do not fit each other in all photos; if it was pushed or turned on "
        "the mat while shooting, shoot again without touching it.");
    return;
  }
  const size_t n = capture.views.size(), split = shift.first_after;
  const std::string where = "The hold was moved on the mat, or the mat under it, between " +
                            capture.views[split - 1].photo + " and " + capture.views[split].photo;
  const bool keep_first = 2 * split >= n;
  const size_t kept = keep_first ? split : n - split;
  if (kept < kNeeded)
    throw BadInput(where + ", and neither side has the " + std::to_string(kNeeded) +
                   " photos that are needed: shoot again without touching hold or mat.");
  std::vector<View> left;
  for (size_t i = 0; i < n; ++i)
    if ((i < split) == keep_first)
      left.push_back(std::move(capture.views[i]));
    else
      refusePhoto(capture, capture.views[i].photo,
                  capture.views[i].photo + " shows the hold where it stood " +
                      (keep_first ? "after" : "before") + " it was moved on the mat.");
  capture.views = std::move(left);
  capture.warnings.push_back(where + ": only the " + std::to_string(kept) + " photos " +
                             (keep_first ? "before" : "after") +
                             " are used; shoot again without touching hold or mat where the rest "
                             "is needed.");
}

/// Fills the masks; photos whose outline is at odds with the others leave the capture.
void segment(CalibratedCapture& capture, const std::optional<Mat>& mat,
             const RebuildOptions& options, const Progress& progress) {
  SilhouetteInput input;
  if (!options.cameras_file) {
    input.mat = mat;
    input.mat_points_H_mm = capture.mat_points_H_mm;
  } else {
    input.floor_z_mm = -std::numeric_limits<double>::infinity();
  }
  input.box_mm = options.box_mm;
  if (!options.cameras_file) keepOneStanding(capture, input, progress);
  const auto verdicts = findSilhouettes(capture.views, input, progress);
  std::vector<View> kept;
  for (size_t i = 0; i < verdicts.size(); ++i) {
    if (verdicts[i].used()) {
      kept.push_back(std::move(capture.views[i]));
      continue;
    }
    refusePhoto(capture, capture.views[i].photo,
                verdicts[i].reason +
                    " If a hand or another thing was in front of the hold, take this photo again.");
  }
  capture.views = std::move(kept);
  HoldLight light = holdLight(capture.views);
  // Without a mat the background may be dark and get into the outlines: that is no shadow.
  if (!mat) light.shadowed = 0;
  for (const std::string& warning : lightWarnings(light)) capture.warnings.push_back(warning);
}

/// Calibrated views with the hold's outline in each.
CalibratedCapture maskedViews(const std::vector<std::filesystem::path>& photos,
                              const std::optional<Mat>& mat, const RebuildOptions& options,
                              const Progress& progress, const StageStore& store) {
  if (const auto bytes = store.read("outlines"))
    if (auto capture = restoredViews(*bytes, photos, progress)) return std::move(*capture);
  CalibratedCapture capture = posedViews(photos, mat, options, progress, store);
  Stage silhouettes(progress, "Finding the hold", 1);
  segment(capture, mat, options, progress);
  silhouettes.end(capture.times);
  // Known cameras have a lens each and are quick to take up from the photos themselves.
  if (!options.cameras_file) store.write("outlines", storedViews(capture));
  return capture;
}

Hull carve(const CalibratedCapture& capture, const RebuildOptions& options,
           const Progress& progress) {
  HullOptions hull;
  hull.box_mm = options.box_mm;
  if (options.cameras_file) hull.floor_z_mm = -std::numeric_limits<double>::infinity();
  return carveHull(capture.views, hull, progress);
}

DenseSurface surfaceOf(CalibratedCapture& capture, const RebuildOptions& options,
                       const Progress& progress, const StageStore& store) {
  const std::size_t before = capture.times.size();
  if (auto restored = restoredSurface("surface", capture.times, store)) return std::move(*restored);
  Stage carving(progress, "Carving the hull", 1);
  const Hull hull = carve(capture, options, progress);
  carving.end(capture.times);
  DenseSurface surface =
      denseSurface(capture.views, hull,
                   denseOptions(capture.views, hull, options.quality, !options.cameras_file),
                   capture.times, progress, store);
  storeSurface("surface", surface,
               {capture.times.begin() + std::ptrdiff_t(before), capture.times.end()}, store);
  return surface;
}

/// Where the hold frame's origin lies on the wall plane of the capture: on the bolt axis, or at the
/// footprint's centroid where no bolt hole is found.
Vector3d originOf(const TriangleMesh& mesh) {
  const Vector3d shift = findHoldFrame(mesh).T_hold_mesh.translation();
  return {-shift.x(), -shift.y(), 0};
}

bool hasSeat(const TriangleMesh& mesh) {
  const MeshTopology topology = buildTopology(mesh);
  SectionCutter cutter(mesh, topology);
  return !findBoltSeats(cutter, mesh, precisionOf(mesh, topology, 0)).empty();
}

void moveOrigin(const Vector3d& origin, TriangleMesh& mesh, CalibratedCapture& capture) {
  for (Vector3d& v : mesh.vertices_mm) v -= origin;
  for (View& view : capture.views)
    view.camera.T_camera_hold = view.camera.T_camera_hold * Eigen::Translation3d(origin);
  for (Vector3d& p : capture.mat_points_H_mm) p -= origin;
  capture.T_hold_mat = Eigen::Translation3d(-origin) * capture.T_hold_mat;
}

void describeCameras(const CalibratedCapture& capture, const Vector3d& middle,
                     CaptureReport& report) {
  std::vector<double> azimuths;
  double lowest = 90, highest = -90;
  for (const View& view : capture.views) {
    *report.add_cameras() = toProto(view.photo, view.camera);
    const Vector3d d = view.camera.centre_H_mm() - middle;
    const double azimuth = azimuth_deg(d), elevation = elevation_deg(d);
    azimuths.push_back(azimuth);
    lowest = std::min(lowest, elevation);
    highest = std::max(highest, elevation);
    for (PhotoReport& photo : *report.mutable_photos())
      if (photo.photo() == view.photo) {
        photo.set_azimuth_deg(azimuth);
        photo.set_elevation_deg(elevation);
      }
  }
  std::sort(azimuths.begin(), azimuths.end());
  double gap = azimuths.empty() ? 360 : azimuths.front() + 360 - azimuths.back();
  for (size_t i = 1; i < azimuths.size(); ++i) gap = std::max(gap, azimuths[i] - azimuths[i - 1]);
  report.set_largest_azimuth_gap_deg(gap);
  report.set_lowest_elevation_deg(lowest);
  report.set_highest_elevation_deg(highest);
}

/// What to reshoot, from where the cameras stood and what stayed guesswork.
void advise(CaptureReport& report, bool on_wall) {
  const auto number = [](double v) { return std::to_string(static_cast<int>(std::lround(v))); };
  if (on_wall && report.largest_azimuth_gap_deg() > 45)
    report.add_advice("No photo from " + number(report.largest_azimuth_gap_deg()) +
                      " degrees of the way round: turn in smaller steps, 30 degrees at most.");
  if (on_wall && report.lowest_elevation_deg() > 30)
    report.add_advice("No photo from below " + number(report.lowest_elevation_deg()) +
                      " degrees: undercut and incut faces are unseen; add a low ring at about 15 "
                      "degrees.");
  if (on_wall && report.highest_elevation_deg() < 45)
    report.add_advice("No photo from above " + number(report.highest_elevation_deg()) +
                      " degrees: add a high ring at about 60 degrees for the top and the bolt "
                      "seat.");
  if (report.guesswork_share() > 0.1)
    report.add_advice(number(100 * report.guesswork_share()) +
                      " % of the surface was seen by fewer than two good photos and is a guess; "
                      "see the contact sheet for where.");
}

/// Median uncertainty of what was measured, and the share of the area that is guesswork; the back
/// on the wall counts for neither.
void describeSurface(const TriangleMesh& mesh, CaptureReport& report) {
  std::vector<float> sigmas;
  double area = 0, guessed = 0;
  for (const Eigen::Vector3i& t : mesh.triangles) {
    const Vector3d &a = mesh.vertices_mm[t[0]], &b = mesh.vertices_mm[t[1]],
                   &c = mesh.vertices_mm[t[2]];
    if (a.z() < 1e-9 && b.z() < 1e-9 && c.z() < 1e-9) continue;
    const double twice = (b - a).cross(c - a).norm();
    const int guesses = mesh.guesswork[t[0]] + mesh.guesswork[t[1]] + mesh.guesswork[t[2]];
    area += twice;
    guessed += twice * guesses / 3;
    if (guesses == 0) sigmas.push_back(mesh.sigma_mm[t[0]]);
  }
  if (area > 0) report.set_guesswork_share(guessed / area);
  if (sigmas.empty()) return;
  std::nth_element(sigmas.begin(), sigmas.begin() + sigmas.size() / 2, sigmas.end());
  report.set_precision_mm(sigmas[sigmas.size() / 2]);
}

CaptureReport reportOf(const CalibratedCapture& capture, const TriangleMesh& mesh, bool on_wall) {
  CaptureReport report;
  report.set_program_version(HOLDSHELF_VERSION);
  for (const PhotoReport& photo : capture.reports) *report.add_photos() = photo;
  report.set_reprojection_rms_px(capture.rms_px);
  report.set_mat_scale(capture.mat_scale);
  report.set_mat_bend_mm(capture.mat_bend_mm);
  *report.mutable_paper() = capture.paper;
  for (const std::string& warning : capture.warnings) report.add_warnings(warning);
  for (const StageTime& time : capture.times) *report.add_times() = time;
  Vector3d middle = Vector3d::Zero();
  for (const Vector3d& v : mesh.vertices_mm) middle += v;
  describeCameras(capture, middle / static_cast<double>(mesh.vertices_mm.size()), report);
  describeSurface(mesh, report);
  report.set_triangles(static_cast<std::int64_t>(mesh.triangles.size()));
  report.set_watertight(isWatertight(mesh));
  *report.mutable_t_hold_mat() = toProto("", PosedCamera{{}, capture.T_hold_mat}).t_camera_hold();
  advise(report, on_wall);
  return report;
}

void colour(TriangleMesh& mesh, const CalibratedCapture& capture, const std::optional<Mat>& mat,
            const RebuildOptions& options, const Progress& progress) {
  ColourOptions colours;
  if (!options.cameras_file) {
    colours.mat = mat;
    colours.mat_points_H_mm = capture.mat_points_H_mm;
  }
  colourMesh(mesh, capture.views, colours, progress);
}

std::vector<std::uint8_t> thumbnail(const TriangleMesh& mesh) {
  const RasterCamera camera =
      fitOrthographic(mesh, Vector3d(0, -0.5, 0.87), Vector3d::UnitY(), 480, 360);
  return encodePng(renderMesh(mesh, camera, Vector3d::UnitY()));
}

}  // namespace

Rebuilt rebuild(const std::vector<std::filesystem::path>& photos, const std::optional<Mat>& mat,
                const RebuildOptions& options, const Progress& progress) {
  const StageStore store = stagesOf(photos, mat, options);
  CalibratedCapture capture = maskedViews(photos, mat, options, progress, store);
  const bool on_wall = !options.cameras_file;
  Rebuilt out;
  DenseSurface surface = surfaceOf(capture, options, progress,
                                   store.with("quality " + std::to_string(int(options.quality))));
  out.mesh = std::move(surface.mesh);
  stateUncertainty(out.mesh, capture.views);
  settleFloors(out.mesh, surface.recesses, capture.views);
  if (on_wall) {
    out.mesh.wall_sigma_mm = capture.plane_sigma_mm;
    moveOrigin(originOf(out.mesh), out.mesh, capture);
  }
  out.mesh.normals = vertexNormals(out.mesh);
  Stage colouring(progress, "Colouring", 1);
  colour(out.mesh, capture, mat, options, progress);
  out.colour_srgb = medianColour_srgb(out.mesh);
  out.texture = textureDetail(out.mesh, capture.views, progress);
  colouring.end(capture.times);
  out.report = reportOf(capture, out.mesh, on_wall);
  if (on_wall && !hasSeat(out.mesh))
    out.report.add_advice(
        "No bolt seat shows in these photos. If the hold takes a bolt, add three photos into its "
        "hole from nearly straight above (about 80 degrees, from three sides), or measure the seat "
        "by hand.");
  ContactSheetOptions sheet;
  sheet.photo_files = photos;
  out.contact_sheet_png = contactSheetPng(out.mesh, capture.views, out.report, sheet);
  out.thumbnail_png = thumbnail(out.mesh);
  return out;
}

}  // namespace holdshelf
