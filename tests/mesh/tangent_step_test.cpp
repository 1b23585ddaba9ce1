// SPDX-License-Identifier: Apache-2.0
#include "mesh/tangent_step.h"

#include <doctest/doctest.h>

#include <Eigen/Geometry>
#include <utility>
#include <vector>

using namespace holdshelf;

namespace {

/// A box of 60 x 40 x 20 mm.
RegistrationTarget box() {
  TriangleMesh mesh;
  for (int i = 0; i < 8; ++i)
    mesh.vertices_mm.emplace_back(i & 1 ? 30 : -30, i & 2 ? 20 : -20, i & 4 ? 10 : -10);
  mesh.triangles = {{0, 2, 1}, {1, 2, 3}, {4, 5, 6}, {5, 7, 6}, {0, 1, 4}, {1, 5, 4},
                    {2, 6, 3}, {3, 6, 7}, {0, 4, 2}, {2, 4, 6}, {1, 3, 5}, {3, 7, 5}};
  return RegistrationTarget(std::move(mesh));
}

/// Points on its faces, away from its edges.
std::vector<Eigen::Vector3d> onFaces() {
  std::vector<Eigen::Vector3d> points;
  for (double a : {-0.7, -0.2, 0.4, 0.8})
    for (double b : {-0.8, -0.3, 0.1, 0.6})
      for (double side : {-1.0, 1.0}) {
        points.emplace_back(30 * a, 20 * b, 10 * side);
        points.emplace_back(30 * a, 20 * side, 10 * b);
        points.emplace_back(30 * side, 20 * a, 10 * b);
      }
  return points;
}

}  // namespace

TEST_CASE(
    "tangentStep: a small displacement is undone at once, since planes are their own tangents") {
  const RegistrationTarget target = box();
  const auto points = onFaces();
  Eigen::Isometry3d T(Eigen::Translation3d(0.4, -0.3, 0.2) *
                      Eigen::AngleAxisd(0.01, Eigen::Vector3d(1, 2, 3).normalized()));
  Pairing pairs(points.size());
  const TangentStep first = tangentStep(target, points, 2, pairs, T);
  CHECK(first.median_mm > 0.1);
  CHECK(first.moved_mm > 0.5);
  // What is left is of second order in the angle: 0.01^2 / 2 times 36 mm.
  CHECK(T.translation().norm() < 0.01);
  CHECK(tangentStep(target, points, 2, pairs, T).median_mm < 0.01);
}

TEST_CASE("tangentStep: the size comes out too where it is free, no farther than 2 % a step") {
  const RegistrationTarget target = box();
  auto points = onFaces();
  for (auto& p : points) p /= 1.01;
  Eigen::Isometry3d T = Eigen::Isometry3d::Identity();
  Pairing pairs(points.size());
  double growth = 1;
  tangentStep(target, points, 2, pairs, T, &growth);
  CHECK(growth == doctest::Approx(1.01).epsilon(1e-3));
  for (auto& p : points) p /= 1.1;
  growth = 1;
  Pairing again(points.size());
  tangentStep(target, points, 10, again, T, &growth);
  CHECK(growth == doctest::Approx(1.02));
}

TEST_CASE("tangentStep: a part that is missing does not pull") {
  const RegistrationTarget target = box();
  auto points = onFaces();
  for (std::size_t i = 0; i < points.size(); i += 8) points[i].z() -= 6;  // Far within or outside.
  Eigen::Isometry3d T(Eigen::Translation3d(0.05, 0.05, 0.05));
  Pairing pairs(points.size());
  for (int i = 0; i < 8; ++i) tangentStep(target, points, 0.5, pairs, T);
  CHECK(T.translation().norm() < 0.01);
}
