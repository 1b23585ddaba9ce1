// SPDX-License-Identifier: Apache-2.0
#include "capture/surface_uncertainty.h"

#include <doctest/doctest.h>

using namespace holdshelf;

namespace {

/// An octahedron of half diagonal r: each vertex has four neighbours whose mean is its centre.
TriangleMesh octahedron(double r, float sigma_mm) {
  TriangleMesh mesh;
  for (const Eigen::Vector3d& d :
       {Eigen::Vector3d(1, 0, 0), {-1, 0, 0}, {0, 1, 0}, {0, -1, 0}, {0, 0, 1}, {0, 0, -1}})
    mesh.vertices_mm.push_back(r * d);
  mesh.triangles = {{0, 2, 4}, {2, 1, 4}, {1, 3, 4}, {3, 0, 4},
                    {2, 0, 5}, {1, 2, 5}, {3, 1, 5}, {0, 3, 5}};
  mesh.sigma_mm.assign(6, sigma_mm);
  mesh.guesswork.assign(6, 0);
  return mesh;
}

View viewAt(double distance_mm, double focal_px) {
  View view;
  view.camera.model.fx_px = focal_px;
  view.camera.T_camera_hold.translation() = Eigen::Vector3d(0, 0, distance_mm);
  return view;
}

}  // namespace

TEST_CASE("stateUncertainty: pixel, matching and bend add in squares") {
  TriangleMesh mesh = octahedron(0.3, 0.1f);
  stateUncertainty(mesh, {viewAt(300, 1000)});
  const double expected = std::sqrt(0.024 * 0.024 + 0.2 * 0.2 + 0.15 * 0.15);
  for (float sigma : mesh.sigma_mm) CHECK(sigma == doctest::Approx(expected).epsilon(1e-5));
}

TEST_CASE("stateUncertainty: twice as far is less sure; guesswork stays as it is") {
  TriangleMesh near = octahedron(1e-6, 0.02f), far = near;
  near.guesswork[3] = far.guesswork[3] = 1;
  near.sigma_mm[3] = far.sigma_mm[3] = 1;
  stateUncertainty(near, {viewAt(300, 1000), viewAt(310, 1000), viewAt(290, 1000)});
  stateUncertainty(far, {viewAt(600, 1000)});
  CHECK(near.sigma_mm[0] == doctest::Approx(std::hypot(0.024, 0.04)).epsilon(1e-4));
  CHECK(far.sigma_mm[0] == doctest::Approx(std::hypot(0.048, 0.04)).epsilon(1e-4));
  CHECK(near.sigma_mm[3] == 1);
}
