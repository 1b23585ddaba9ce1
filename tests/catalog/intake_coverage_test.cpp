// SPDX-License-Identifier: Apache-2.0
#include "catalog/intake_coverage.h"

#include <doctest/doctest.h>

using namespace holdshelf;

namespace {

PhotoLook from(double azimuth_deg, double elevation_deg) {
  PhotoLook look;
  look.set_usable(true);
  look.set_posed(true);
  look.set_azimuth_deg(azimuth_deg);
  look.set_elevation_deg(elevation_deg);
  return look;
}

}  // namespace

TEST_CASE("intake coverage: the mat's numbers, 1 at the bottom, counter-clockwise") {
  // As capture/printed_mat.cpp prints them; tests/capture checks where it puts its 1.
  CHECK(matNumber(-90) == 1);
  CHECK(matNumber(270) == 1);
  CHECK(matNumber(0) == 4);
  CHECK(matNumber(90) == 7);
  CHECK(matNumber(180) == 10);
  CHECK(matNumber(-180) == 10);
  CHECK(matNumber(-104) == 1);
  CHECK(matNumber(-106) == 12);
}

TEST_CASE("intake coverage: three full rings are enough and leave nothing to say") {
  std::vector<PhotoLook> photos;
  for (int stop = 0; stop < 12; ++stop)
    for (const double elevation : {15.0, 40.0, 65.0}) photos.push_back(from(30 * stop, elevation));
  const IntakeCoverage coverage = coverageOf(photos);
  CHECK(coverage.usable() == 36);
  CHECK(coverage.enough());
  CHECK(coverage.advice().empty());
  for (int i = 0; i < 12; ++i) {
    CHECK(coverage.low(i) == 1);
    CHECK(coverage.middle(i) == 1);
    CHECK(coverage.high(i) == 1);
  }
}

TEST_CASE("intake coverage: what is missing is named by the mat's numbers and rings") {
  std::vector<PhotoLook> photos;
  for (const int number : {1, 2, 3, 7, 9, 10, 11, 12})
    photos.push_back(from(30 * (number - 1) - 90, 40));
  photos.push_back({});  // Unusable: counts for nothing.
  const IntakeCoverage coverage = coverageOf(photos);
  CHECK(coverage.usable() == 8);
  CHECK(coverage.enough());
  REQUIRE(coverage.advice_size() == 3);
  CHECK(coverage.advice(0) == "No photo yet from the mat's numbers 4, 5, 6 and 8.");
  CHECK(coverage.advice(1).find("low down") != std::string::npos);
  CHECK(coverage.advice(2).find("high up") != std::string::npos);
  photos.resize(7);
  CHECK_FALSE(coverageOf(photos).enough());
  CHECK(coverageOf({}).advice().empty());
}
