// SPDX-License-Identifier: Apache-2.0
// agreement_bench MESH_A.ply REPORT_A.json MESH_B.ply REPORT_B.json: how far two rebuilds of the
// same hold on the same mat lie apart, e.g. from the odd and the even photos of one capture.
//
// Distances of points spread over A to the nearest point of B and of B to A, mm, each mesh brought
// into the mat's frame by its report; surface over z = 1 mm that is not guesswork counts. As
// placed, calibrations and all; then after the best rigid motion (Gauss-Newton on point to plane).
#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <exception>
#include <string>
#include <vector>

#include "mesh/mesh_io.h"
#include "mesh/ray_scene.h"
#include "tests/photobooth/capture_truth.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

constexpr double kReach_mm = 5;  // Farther apart is another part of the surface.

TriangleMesh inMatFrame(const std::string& mesh_path, const std::string& report_path) {
  TriangleMesh mesh = readMesh(mesh_path);
  const Eigen::Isometry3d T_mat_hold = truthFromReport(report_path);
  for (Vector3d& v : mesh.vertices_mm) v = T_mat_hold * v;
  return mesh;
}

/// Vertices that count: of an evenly meshed surface they are spread over its area.
std::vector<Vector3d> measured(const TriangleMesh& mesh) {
  std::vector<Vector3d> out;
  for (std::size_t i = 0; i < mesh.vertices_mm.size(); ++i)
    if (mesh.vertices_mm[i].z() > 1 && (mesh.guesswork.empty() || !mesh.guesswork[i]))
      out.push_back(mesh.vertices_mm[i]);
  return out;
}

std::vector<double> distances(const std::vector<Vector3d>& points, const Eigen::Isometry3d& T,
                              const RayScene& to) {
  std::vector<double> out;
  for (const Vector3d& p : points)
    if (const auto hit = to.closestPoint(T * p, kReach_mm)) out.push_back(hit->distance_mm);
  return out;
}

/// Moves the points onto the mesh; residuals beyond 0.5 mm count less (Huber).
Eigen::Isometry3d fit(const std::vector<Vector3d>& points, const TriangleMesh& mesh,
                      const RayScene& scene) {
  Eigen::Isometry3d T = Eigen::Isometry3d::Identity();
  for (int round = 0; round < 12; ++round) {
    Eigen::Matrix<double, 6, 6> A = Eigen::Matrix<double, 6, 6>::Identity() * 1e-9;
    Eigen::Matrix<double, 6, 1> b = Eigen::Matrix<double, 6, 1>::Zero();
    for (std::size_t i = 0; i < points.size(); i += 5) {
      const Vector3d p = T * points[i];
      const auto hit = scene.closestPoint(p, kReach_mm);
      if (!hit) continue;
      const Eigen::Vector3i& t = mesh.triangles[std::size_t(hit->triangle)];
      const Vector3d &a = mesh.vertices_mm[t[0]], &u = mesh.vertices_mm[t[1]],
                     &w = mesh.vertices_mm[t[2]];
      const Vector3d n = (u - a).cross(w - a).normalized();
      const double r = n.dot(p - hit->point_mm), weight = std::min(1.0, 0.5 / std::abs(r));
      Eigen::Matrix<double, 6, 1> J;
      J << p.cross(n), n;
      A += weight * J * J.transpose();
      b -= weight * r * J;
    }
    const Eigen::Matrix<double, 6, 1> x = A.ldlt().solve(b);
    const Vector3d turn = x.head<3>();
    Eigen::Isometry3d step = Eigen::Isometry3d::Identity();
    if (turn.norm() > 0) step.linear() = Eigen::AngleAxisd(turn.norm(), turn.normalized()).matrix();
    step.translation() = x.tail<3>();
    T = step * T;
  }
  return T;
}

void print(const char* name, std::vector<double> d, std::size_t of) {
  if (d.empty()) {
    std::printf("%-10s nothing within %.0f mm\n", name, kReach_mm);
    return;
  }
  std::sort(d.begin(), d.end());
  std::printf("%-10s median %.3f  95 %% %.3f  largest %.2f mm  farther than %.0f mm %.2f %%\n",
              name, d[d.size() / 2], d[d.size() * 95 / 100], d.back(), kReach_mm,
              100 - 100.0 * double(d.size()) / double(of));
}

void run(char** argv) {
  const TriangleMesh a = inMatFrame(argv[1], argv[2]), b = inMatFrame(argv[3], argv[4]);
  const RayScene on_a(a), on_b(b);
  const std::vector<Vector3d> of_a = measured(a), of_b = measured(b);
  const auto both = [&](const Eigen::Isometry3d& T_b_a) {
    std::vector<double> d = distances(of_a, T_b_a, on_b);
    for (double x : distances(of_b, T_b_a.inverse(), on_a)) d.push_back(x);
    return d;
  };
  const std::size_t count = of_a.size() + of_b.size();
  print("as placed", both(Eigen::Isometry3d::Identity()), count);
  print("best fit", both(fit(of_a, b, on_b)), count);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 5) {
    std::fprintf(stderr, "usage: agreement_bench MESH_A REPORT_A MESH_B REPORT_B\n");
    return 2;
  }
  try {
    run(argv);
  } catch (const std::exception& e) {
    std::fprintf(stderr, "agreement_bench: %s\n", e.what());
    return 1;
  }
}
