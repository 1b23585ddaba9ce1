// SPDX-License-Identifier: Apache-2.0
#include "mesh/measure_shape.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <vector>

#include "mesh/best_grips.h"
#include "mesh/bolt_seat.h"
#include "mesh/footprint.h"
#include "mesh/hold_size.h"
#include "mesh/mass.h"
#include "mesh/pinch.h"
#include "mesh/pocket.h"

namespace holdshelf {
namespace {

std::string inMm(double mm) {
  char text[32];
  std::snprintf(text, sizeof text, "%.4g", mm);
  return text;
}

void checkSize(const TriangleMesh& mesh, const HoldBody& body) {
  if (mesh.triangles.empty())
    throw BadInput("The mesh holds no triangles; nothing can be measured.");
  const double size = (body.high_mm - body.low_mm).maxCoeff();
  if (!(size >= kSmallestHold_mm && size <= kLargestHold_mm))
    throw BadInput("The mesh is " + inMm(size) +
                   " mm long, which no hold is; check the file's unit of length.");
  if (!(body.high_mm.z() > 0.5))
    throw BadInput(
        "The mesh lies behind the wall plane z = 0; bring it into the hold frame first.");
}

void set(Measured* m, double value, double sigma) {
  m->set_value(value);
  m->set_sigma(sigma);
}

double sigmaOf(const TriangleMesh& mesh, int vertex, const MeshPrecision& precision) {
  return mesh.sigma_mm.empty() ? precision.sigma_mm : static_cast<double>(mesh.sigma_mm[vertex]);
}

/// An extreme value over many noisy vertices lies outwards of the truth by about the noise itself,
/// and a rounded top between vertices inwards by the mesh's own error.
double extremeSigma(double sigma, const MeshPrecision& precision) {
  return std::hypot(2 * sigma, precision.ofResolution_mm());
}

/// How far the mesh reaches along an axis.
double reachAlong(const TriangleMesh& mesh, const MeshPrecision& precision,
                  const Eigen::Vector3d& axis) {
  std::vector<double> along;
  along.reserve(mesh.vertices_mm.size());
  for (const Eigen::Vector3d& v : mesh.vertices_mm) along.push_back(axis.dot(v));
  return precision.farthest(std::move(along));
}

double lengthAlong(const TriangleMesh& mesh, const MeshPrecision& precision,
                   const Eigen::Vector3d& axis) {
  return reachAlong(mesh, precision, axis) + reachAlong(mesh, precision, -axis);
}

void measureWhole(const TriangleMesh& mesh, const MeshPrecision& precision, const HoldBody& body,
                  const Footprint& foot, Shape& shape) {
  const double sigma = precision.sigma_mm, mesh_mm = precision.ofResolution_mm();
  const Extent extent = longestExtent(mesh);
  const auto along = [&](const Eigen::Vector3d& axis) {
    return lengthAlong(mesh, precision, axis);
  };
  set(shape.mutable_protrusion_mm(),
      std::max(0.0, reachAlong(mesh, precision, Eigen::Vector3d::UnitZ())),
      std::hypot(extremeSigma(sigmaOf(mesh, body.highest_vertex, precision), precision),
                 precision.wall_mm));
  set(shape.mutable_footprint_width_mm(), along(Eigen::Vector3d::UnitX()),
      1.4 * extremeSigma(sigma, precision));
  set(shape.mutable_footprint_height_mm(), along(Eigen::Vector3d::UnitY()),
      1.4 * extremeSigma(sigma, precision));
  const Eigen::Vector3d across = mesh.vertices_mm[extent.to] - mesh.vertices_mm[extent.from];
  set(shape.mutable_longest_extent_mm(), along(across.normalized()),
      std::hypot(extremeSigma(sigmaOf(mesh, extent.from, precision), precision),
                 extremeSigma(sigmaOf(mesh, extent.to, precision), precision)));
  // Independent noise moves a border outwards on average, as the outermost of overlapping layers
  // shows; half a sigma all along the outline covers it, as does the chord error of the mesh.
  set(shape.mutable_footprint_area_mm2(), foot.area_mm2,
      foot.perimeter_mm * std::hypot(0.7 * sigma, mesh_mm));
  // Of n independent vertices the mean is good to sigma / sqrt(n); flat triangles cut curved
  // surfaces on one side throughout, by less than ofResolution on most of it.
  const double vertices = std::max<double>(1, static_cast<double>(mesh.vertices_mm.size()));
  set(shape.mutable_volume_mm3(), body.volume_mm3,
      body.area_mm2 * std::hypot(sigma / std::sqrt(vertices), mesh_mm / 4));
  // Noise tilts triangles and so adds area: by a few (sigma / spacing)^2 of it.
  const double tilt = sigma / precision.resolution_mm;
  // Beside the wall the surface is continued, not seen.
  set(shape.mutable_surface_area_mm2(), body.area_mm2,
      std::hypot(body.area_mm2 * std::hypot(std::min(1.0, 6 * tilt * tilt), mesh_mm / 40),
                 0.2 * foot.perimeter_mm * precision.outside().back_mm));
  for (const Eigen::Vector2d& p : foot.outline_mm) {
    Point2* point = shape.add_footprint_mm();
    point->set_x(p.x());
    point->set_y(p.y());
  }
  if (!mesh.guesswork.empty()) {
    double guessed = 0;
    for (std::uint8_t g : mesh.guesswork) guessed += g != 0;
    shape.set_guesswork_share(guessed / static_cast<double>(mesh.guesswork.size()));
  }
}

void report(const Progress& progress, const char* stage, double done) {
  if (progress && !progress(stage, done)) throw Interrupted();
}

void addGrips(std::vector<GripAt> found, Shape& shape) {
  for (GripAt& at : found) {
    if (at.grip) *shape.add_grips() = std::move(*at.grip);
    *shape.add_sections() = std::move(at.section);
  }
}

/// What a seat rests on whose bore does not show.
std::string noteOnBlind(const BoltSeat& seat) {
  char text[300];
  std::snprintf(
      text, sizeof text,
      "A round recess of %.1f mm with a flat floor is taken for the bolt's; its bore does "
      "not show",
      seat.recess_mm().value());
  std::string note = text;
  if (seat.guesswork_share() > 0.01) {
    std::snprintf(text, sizeof text,
                  ", and %.0f %% of the floor is continued from what the photos show",
                  100 * seat.guesswork_share());
    note += text;
  }
  return note + ": try the bolt before you rely on it.";
}

Shape measure(const TriangleMesh& mesh, const std::vector<double>& rotations,
              const MeasureOptions& options, const Progress& progress) {
  if (mesh.triangles.empty())
    throw BadInput("The mesh holds no triangles; nothing can be measured.");
  report(progress, "measuring the whole", 0);
  const MeshTopology topology = buildTopology(mesh);
  const MeshPrecision precision = precisionOf(mesh, topology, options.sigma_mm);
  const HoldBody body = measureBody(mesh, precision.outside().back_mm);
  checkSize(mesh, body);
  Shape shape;
  measureWhole(mesh, precision, body, measureFootprint(mesh), shape);
  report(progress, "measuring the whole", 0.5);
  const ReachField reach(mesh, {.finger_mm = options.finger_mm});
  report(progress, "measuring the whole", 1);
  SectionCutter cutter(mesh, topology);
  const std::vector<BoltSeat> seats = findBoltSeats(cutter, mesh, precision);
  SearchedMesh source{mesh, topology, precision, reach, {}};
  for (const BoltSeat& seat : seats) {
    source.filled.push_back({{seat.axis_mm().x(), seat.axis_mm().y()}, filledRadius(seat)});
    *shape.add_bolt_seats() = seat;
    if (!seat.has_bore_mm()) shape.add_notes(noteOnBlind(seat));
  }
  for (Pocket& pocket : findPockets(mesh, topology, precision, reach, seats, options.finger_mm))
    *shape.add_pockets() = std::move(pocket);
  for (Pinch& pinch : findPinches(source)) *shape.add_pinches() = std::move(pinch);
  addGrips(bestGrips(source, rotations, options, progress), shape);
  return shape;
}

}  // namespace

struct PreparedHold::Parts {
  Parts(const TriangleMesh& mesh_, const MeasureOptions& options_)
      : mesh(mesh_),
        options(options_),
        topology(buildTopology(mesh)),
        precision(sizedPrecision()),
        reach(mesh, {.finger_mm = options.finger_mm}) {
    SectionCutter cutter(mesh, topology);
    for (const BoltSeat& seat : findBoltSeats(cutter, mesh, precision))
      filled.push_back({{seat.axis_mm().x(), seat.axis_mm().y()}, filledRadius(seat)});
  }

  /// The size is judged before anything is done that takes longer for larger meshes.
  MeshPrecision sizedPrecision() const {
    MeshPrecision found = precisionOf(mesh, topology, options.sigma_mm);
    checkSize(mesh, measureBody(mesh, found.outside().back_mm));
    return found;
  }

  TriangleMesh mesh;
  MeasureOptions options;
  MeshTopology topology;
  MeshPrecision precision;
  ReachField reach;
  std::vector<FilledDisc> filled;
};

PreparedHold::PreparedHold(const TriangleMesh& mesh, const MeasureOptions& options) {
  if (mesh.triangles.empty())
    throw BadInput("The mesh holds no triangles; nothing can be measured.");
  parts_ = std::make_unique<const Parts>(mesh, options);
}

PreparedHold::~PreparedHold() = default;

const TriangleMesh& PreparedHold::mesh() const { return parts_->mesh; }

Shape PreparedHold::at(double rotation_deg, std::optional<double> offset_mm) const {
  MeasureOptions options = parts_->options;
  options.at_offset_mm = offset_mm;
  const SearchedMesh source{parts_->mesh, parts_->topology, parts_->precision, parts_->reach,
                            parts_->filled};
  Shape shape;
  addGrips(bestGrips(source, {rotation_deg}, options, {}), shape);
  return shape;
}

Shape measureShape(const TriangleMesh& mesh, const MeasureOptions& options,
                   const Progress& progress) {
  const double steps = 360 / options.rotation_step_deg;
  if (!(steps >= 1 && steps <= 3600) || std::abs(steps - std::round(steps)) > 1e-9)
    throw BadInput("The rotation step must divide 360 degrees and be at least 0.1 degrees.");
  std::vector<double> rotations;
  for (int i = 0; i < static_cast<int>(std::round(steps)); ++i)
    rotations.push_back(i * options.rotation_step_deg);
  return measure(mesh, rotations, options, progress);
}

Shape measureAtRotation(const TriangleMesh& mesh, double rotation_deg,
                        const MeasureOptions& options) {
  return measure(mesh, {rotation_deg}, options, {});
}

}  // namespace holdshelf
