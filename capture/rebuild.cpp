// SPDX-License-Identifier: Apache-2.0
#include "capture/rebuild.h"

#include <limits>

#include "capture/calibrate.h"
#include "capture/cameras_file.h"
#include "capture/colour.h"
#include "capture/contact_sheet.h"
#include "capture/dense_surface.h"
#include "capture/hold_outlines.h"
#include "capture/hull.h"
#include "capture/print_scale.h"
#include "capture/rebuild_report.h"
#include "capture/stage.h"
#include "capture/stage_store.h"
#include "capture/stored_stages.h"
#include "capture/surface_uncertainty.h"
#include "capture/texture_detail.h"
#include "mesh/bad_input.h"
#include "mesh/bolt_seat.h"
#include "mesh/hold_frame.h"
#include "mesh/png.h"
#include "mesh/shade.h"

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

/// Calibrated views with the hold's outline in each.
CalibratedCapture maskedViews(const std::vector<std::filesystem::path>& photos,
                              const std::optional<Mat>& mat, const RebuildOptions& options,
                              const Progress& progress, const StageStore& store) {
  if (const auto bytes = store.read("outlines"))
    if (auto capture = restoredViews(*bytes, photos, progress)) return std::move(*capture);
  CalibratedCapture capture = posedViews(photos, mat, options, progress, store);
  Stage silhouettes(progress, "Finding the hold", 1);
  findOutlines(capture, {options.cameras_file ? std::nullopt : mat, options.box_mm}, progress);
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
