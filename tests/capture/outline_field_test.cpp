// SPDX-License-Identifier: Apache-2.0
#include "capture/outline_field.h"

#include <doctest/doctest.h>

#include <cmath>

#include "tests/capture/sphere_views.h"

using namespace holdshelf;

namespace {

using Eigen::Vector3d;

/// mm outside of the silhouette; nullopt out of frame.
std::optional<float> outside(const OutlineField& field, const Vector3d& p) {
  return field.outside_mm(p.homogeneous().cast<float>());
}

}  // namespace

TEST_CASE("OutlineField: a point is as far outside as its ray passes the sphere, at its depth") {
  const Vector3d centre(0, 0, 0);
  const double radius = 30, distance = 350;
  const View view = test::sphereView(test::lookingAt({distance, 0, 0}, centre), centre, radius);
  const auto fields = outlineFields({view});
  REQUIRE(fields.size() == 1);
  CHECK(fields[0].whole);
  // In the plane through the centre the outline is a circle of radius R / sqrt(1 - (R / D)^2).
  const double rim = radius / std::sqrt(1 - radius * radius / (distance * distance));
  for (const double r : {0.8 * rim, 0.95 * rim, 1.05 * rim, 1.2 * rim})
    for (const double a : {0.1, 1.3, 2.9, 4.4}) {
      const auto found = outside(fields[0], {0, r * std::cos(a), r * std::sin(a)});
      REQUIRE(found);
      CHECK(std::abs(double(*found) - (r - rim)) < 0.25);  // A pixel is half a millimetre here.
    }
  CHECK_FALSE(outside(fields[0], {distance + 10, 0, 0}));  // Behind the camera.
}

TEST_CASE("OutlineField: a silhouette cut by the frame says nothing of what lies beyond it") {
  const Vector3d centre(0, 0, 0), aside(0, 90, 0);  // The sphere runs into the frame.
  const View cut = test::sphereView(test::lookingAt({350, 0, 0}, aside), centre, 60);
  const auto fields = outlineFields({cut});
  REQUIRE(fields.size() == 1);
  CHECK_FALSE(fields[0].whole);
  CHECK(outside(fields[0], {0, 0, 0}));
  CHECK_FALSE(outside(fields[0], {0, -120, 0}));
}

TEST_CASE("outlineFields: views without a mask, or with nothing in it, have none") {
  View empty, black;
  black.mask = cv::Mat::zeros(10, 10, CV_8UC1);
  CHECK(outlineFields({empty, black}).empty());
}
