// SPDX-License-Identifier: Apache-2.0
#include "tests/photobooth/acceptance.h"

#include <doctest/doctest.h>

#include <cmath>

#include "tests/photobooth/noise.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using Eigen::Vector3d;

TEST_CASE("fitBall: known centre, radius and form; 3 in 1000 are left out and no more") {
  Random random(1);
  std::vector<Vector3d> points;
  for (int i = 0; i < 2000; ++i) {
    const Vector3d d =
        Vector3d(random.normal(), random.normal(), std::abs(random.normal())).normalized();
    points.push_back(Vector3d(10, 20, 30) + d * (15 + (i % 2 ? 0.1 : -0.1)));
  }
  const BallFit clean = fitBall(points);
  CHECK((clean.centre_mm - Vector3d(10, 20, 30)).norm() < 0.02);
  CHECK(clean.radius_mm == doctest::Approx(15).epsilon(1e-3));
  CHECK(clean.form_mm == doctest::Approx(0.2).epsilon(0.1));
  CHECK(clean.rejected == 0.003);
  for (int i = 0; i < 6; ++i) points[static_cast<std::size_t>(100 * i)] = Vector3d(10, 20, 30 + 17);
  CHECK(fitBall(points).form_mm < 0.25);
  for (int i = 0; i < 8; ++i) points[static_cast<std::size_t>(100 * i)] = Vector3d(10, 20, 30 + 17);
  CHECK(fitBall(points).form_mm > 1.5);
}

TEST_CASE("acceptArtefact: the exact artefacts are accepted, a stretched one is not") {
  const Artefact plate = artefactNamed("balls-40");
  TriangleMesh mesh = meshSdf(plate.body.solid, plate.body.box_mm, 0.8);
  const Acceptance exact = acceptArtefact(mesh, Eigen::Isometry3d::Identity(), plate);
  REQUIRE(exact.balls.size() == 5);
  REQUIRE(exact.spacing_mm.size() == 10);
  const double sag = 0.8 * 0.8 / (4 * 15);  // Of the mesh's facets.
  for (const BallFit& ball : exact.balls) CHECK(ball.form_mm < 2 * sag);
  for (double size : exact.size_mm) CHECK(std::abs(size) < 2 * sag);
  for (double spacing : exact.spacing_mm) CHECK(std::abs(spacing) < 0.005);
  for (Vector3d& p : mesh.vertices_mm) p *= 1.002;
  const Acceptance stretched = acceptArtefact(mesh, Eigen::Isometry3d::Identity(), plate);
  const double span = (plate.balls[0].centre_mm - plate.balls[2].centre_mm).norm();
  CHECK(stretched.spacing_mm[1] == doctest::Approx(0.002 * span).epsilon(0.05));
}

TEST_CASE("acceptArtefact: a bent flat shows its bend") {
  const Artefact slab = artefactNamed("flat-15");
  TriangleMesh mesh = meshSdf(slab.body.solid, slab.body.box_mm, 1);
  const Acceptance exact = acceptArtefact(mesh, Eigen::Isometry3d::Identity(), slab);
  REQUIRE(exact.flats.size() == 1);
  CHECK(exact.flats[0].form_mm < 1e-6);
  CHECK(exact.flats[0].points > 5000);
  for (Vector3d& p : mesh.vertices_mm) {  // A bow of 0.5 mm over the measured length.
    const double along = (p - slab.flats[0].centre_mm).dot(slab.flats[0].along) / 85;
    p += 0.5 * along * along * slab.flats[0].normal;
  }
  const Acceptance bent = acceptArtefact(mesh, Eigen::Isometry3d::Identity(), slab);
  CHECK(bent.flats[0].form_mm == doctest::Approx(0.5).epsilon(0.05));
}

TEST_CASE("acceptArtefact: the plate with balls and flats is all there at both sizes") {
  for (const char* name : {"accept-a4-40", "accept-a3-80"}) {
    CAPTURE(name);
    const Artefact plate = artefactNamed(name);
    const double cell = plate.body.box_mm.sizes().x() / 200;
    const TriangleMesh mesh = meshSdf(plate.body.solid, plate.body.box_mm, cell);
    const Acceptance exact = acceptArtefact(mesh, Eigen::Isometry3d::Identity(), plate);
    REQUIRE(exact.balls.size() == 4);
    const double sag = cell * cell / (4 * plate.balls[0].radius_mm);
    for (const BallFit& ball : exact.balls) {
      CHECK(ball.form_mm < 2 * sag);
      CHECK(ball.points > 1000);
    }
    REQUIRE(exact.flats.size() == 2);
    for (const FlatFit& flat : exact.flats) {
      CHECK(flat.form_mm < 1e-6);
      CHECK(flat.points > 5000);
    }
  }
}

TEST_CASE("acceptArtefact: a ball that is carved away is a form error as large as the ball") {
  const Artefact plate = artefactNamed("balls-40");
  Sdf solid = plate.body.solid;
  const Artefact::Ball& ball = plate.balls[1];
  solid = subtract(solid, translate(sphere(ball.radius_mm), ball.centre_mm + Vector3d(0, 0, 15)));
  const TriangleMesh mesh = meshSdf(solid, plate.body.box_mm, 0.8);
  const Acceptance bitten = acceptArtefact(mesh, Eigen::Isometry3d::Identity(), plate);
  CHECK(bitten.balls[1].form_mm > 5);
  CHECK(bitten.balls[0].form_mm < 0.1);
}
