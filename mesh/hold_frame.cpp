// SPDX-License-Identifier: Apache-2.0
#include "mesh/hold_frame.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <limits>
#include <map>
#include <optional>

#include "mesh/bad_input.h"
#include "mesh/bolt_seat.h"
#include "mesh/footprint.h"
#include "mesh/mesh_topology.h"

namespace holdshelf {
namespace {

using Eigen::Vector3d;

struct Plane {
  Vector3d outward = Vector3d::Zero();  ///< Away from the mesh, into the wall.
  double offset = 0;                    ///< outward . p of its points.
  double area = 0;                      ///< Of the mesh in it.
};

double lowest(const TriangleMesh& mesh, const Vector3d& outward) {
  double most = -std::numeric_limits<double>::infinity();
  for (const Vector3d& v : mesh.vertices_mm) most = std::max(most, outward.dot(v));
  return most;
}

/// Area of the mesh that lies in the supporting plane of a direction, within `thick`, and faces as
/// it does up to a cosine of `alike`.
Plane supporting(const TriangleMesh& mesh, const Vector3d& outward, double thick, double alike) {
  Plane plane{outward, lowest(mesh, outward), 0};
  Vector3d normal = Vector3d::Zero();
  for (const Eigen::Vector3i& t : mesh.triangles) {
    const Vector3d &a = mesh.vertices_mm[t[0]], &b = mesh.vertices_mm[t[1]],
                   &c = mesh.vertices_mm[t[2]];
    if (std::min({outward.dot(a), outward.dot(b), outward.dot(c)}) < plane.offset - thick) continue;
    const Vector3d n = (b - a).cross(c - a);
    if (n.dot(outward) < alike * n.norm()) continue;
    normal += n;
  }
  plane.area = normal.norm() / 2;
  if (plane.area > 0) {
    plane.outward = normal.normalized();
    plane.offset = lowest(mesh, plane.outward);
  }
  return plane;
}

/// The directions in which most of the mesh's area faces, by a histogram of triangle normals.
std::vector<Vector3d> commonDirections(const TriangleMesh& mesh) {
  std::map<std::array<int, 3>, Vector3d> bins;
  for (const Eigen::Vector3i& t : mesh.triangles) {
    const Vector3d n = (mesh.vertices_mm[t[1]] - mesh.vertices_mm[t[0]])
                           .cross(mesh.vertices_mm[t[2]] - mesh.vertices_mm[t[0]]);
    if (!(n.norm() > 0)) continue;
    const Eigen::Vector3i key = (n.normalized() * 12).array().round().cast<int>();
    bins.try_emplace({key.x(), key.y(), key.z()}, Vector3d::Zero()).first->second += n;
  }
  std::vector<Vector3d> sums;
  sums.reserve(bins.size());
  for (const auto& [key, sum] : bins) sums.push_back(sum);
  std::sort(sums.begin(), sums.end(),
            [](const Vector3d& a, const Vector3d& b) { return a.squaredNorm() > b.squaredNorm(); });
  sums.resize(std::min<std::size_t>(sums.size(), 40));
  for (Vector3d& s : sums) s.normalize();
  return sums;
}

/// Where an open mesh's border lies flat, that is its back.
std::optional<Plane> borderPlane(const TriangleMesh& mesh, const MeshTopology& topology,
                                 double thick) {
  std::vector<Vector3d> points;
  for (std::size_t h = 0; h < topology.across.size(); ++h)
    if (topology.across[h] < 0)
      points.push_back(mesh.vertices_mm[mesh.triangles[h / 3][static_cast<int>(h % 3)]]);
  if (points.size() < 8) return std::nullopt;
  Vector3d mean = Vector3d::Zero(), all = Vector3d::Zero();
  for (const Vector3d& p : points) mean += p;
  mean /= static_cast<double>(points.size());
  for (const Vector3d& v : mesh.vertices_mm) all += v;
  all /= static_cast<double>(mesh.vertices_mm.size());
  Eigen::Matrix3d spread = Eigen::Matrix3d::Zero();
  for (const Vector3d& p : points) spread += (p - mean) * (p - mean).transpose();
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> solver(spread);
  Vector3d outward = solver.eigenvectors().col(0);
  if (outward.dot(all - mean) > 0) outward = -outward;
  const double rms =
      std::sqrt(std::max(0.0, solver.eigenvalues()[0]) / static_cast<double>(points.size()));
  if (rms > thick) return std::nullopt;
  return Plane{outward, outward.dot(mean),
               M_PI * std::sqrt(solver.eigenvalues()[1] * solver.eigenvalues()[2]) * 2 /
                   static_cast<double>(points.size())};
}

double projectedArea(const TriangleMesh& mesh, const Vector3d& direction) {
  double area = 0;
  for (const Eigen::Vector3i& t : mesh.triangles)
    area +=
        std::max(0.0, -direction.dot((mesh.vertices_mm[t[1]] - mesh.vertices_mm[t[0]])
                                         .cross(mesh.vertices_mm[t[2]] - mesh.vertices_mm[t[0]])) /
                          2);
  return area;
}

Plane findBack(const TriangleMesh& mesh, const MeshTopology& topology, double size) {
  const double thick = std::max(0.3, 0.004 * size);
  Plane best;
  for (const Vector3d& direction : commonDirections(mesh)) {
    Plane plane = supporting(mesh, direction, 3 * thick, 0.95);
    if (plane.area > 0) plane = supporting(mesh, plane.outward, thick, 0.995);
    // A tie, as on a box, goes to the side that already faces the wall.
    if (plane.area > best.area * 1.001 ||
        (plane.area > 0.999 * best.area && plane.outward.z() < best.outward.z()))
      best = plane;
  }
  if (topology.border_edges > 0)
    if (const auto border = borderPlane(mesh, topology, 2 * thick);
        border && border->area > best.area)
      best = *border;
  if (!(best.area > 0.1 * projectedArea(mesh, best.outward)) || best.area <= 0)
    throw BadInput(
        "The mesh has no flat back to lay on the wall; cut it off flat where it meets the wall.");
  return best;
}

std::string text(const char* format, double a, double b = 0) {
  char out[160];
  std::snprintf(out, sizeof out, format, a, b);
  return out;
}

}  // namespace

TriangleMesh moved(const TriangleMesh& mesh, const Eigen::Isometry3d& T) {
  TriangleMesh out = mesh;
  for (Vector3d& v : out.vertices_mm) v = T * v;
  for (Vector3d& n : out.normals) n = T.linear() * n;
  return out;
}

HoldFrame findHoldFrame(const TriangleMesh& mesh, const HoldFrameOptions& options) {
  if (mesh.triangles.empty())
    throw BadInput("The mesh holds no triangles; there is no back to find.");
  Eigen::AlignedBox3d box;
  for (const Vector3d& v : mesh.vertices_mm) box.extend(v);
  const MeshTopology topology = buildTopology(mesh);
  const Plane back = findBack(mesh, topology, box.diagonal().norm());

  HoldFrame frame;
  frame.T_hold_mesh = Eigen::Isometry3d::Identity();
  const double tilt = std::acos(std::clamp(-back.outward.z(), -1.0, 1.0)) * 180 / M_PI;
  if (tilt > options.lies_within_deg || std::abs(back.offset) > options.lies_within_mm) {
    const Eigen::Quaterniond turn =
        Eigen::Quaterniond::FromTwoVectors(back.outward, -Vector3d::UnitZ());
    frame.T_hold_mesh = Eigen::Translation3d(0, 0, back.offset) * turn;
    frame.moved = true;
    frame.notes.push_back(
        text("The flat back was laid on the wall plane: turned by %.1f degrees, moved by %.1f mm.",
             tilt, std::abs(back.offset)));
  }
  TriangleMesh lying = frame.moved ? moved(mesh, frame.T_hold_mesh) : mesh;
  const MeshPrecision precision = precisionOf(lying, topology, 0);
  SectionCutter cutter(lying, topology);
  const std::vector<BoltSeat> seats = findBoltSeats(cutter, lying, precision);
  Eigen::Vector2d origin;
  const bool bolt = !seats.empty() && !seats.front().screw();
  if (bolt)
    origin = {seats.front().axis_mm().x(), seats.front().axis_mm().y()};
  else
    origin = measureFootprint(lying).centroid_mm;
  // A mesh that came in the hold frame keeps its origin unless a bolt says otherwise: the centroid
  // of a scan wanders by less than a millimetre from capture to capture, and so would the frame.
  if (origin.norm() > (bolt ? 0.2 : 1.0)) {
    frame.T_hold_mesh = Eigen::Translation3d(-origin.x(), -origin.y(), 0) * frame.T_hold_mesh;
    frame.moved = true;
    frame.notes.push_back(
        text(bolt ? "The bolt axis was brought to the origin from (%.1f, %.1f) mm."
                  : "The footprint's centroid was brought to the origin from (%.1f, %.1f) mm.",
             origin.x(), origin.y()));
  }
  if (options.up_deg != 0) {
    frame.T_hold_mesh =
        Eigen::AngleAxisd(-options.up_deg * M_PI / 180, Vector3d::UnitZ()) * frame.T_hold_mesh;
    frame.moved = true;
    frame.notes.push_back(
        text("Turned so that what lay at %.1f degrees from up is up.", options.up_deg));
  }
  return frame;
}

}  // namespace holdshelf
