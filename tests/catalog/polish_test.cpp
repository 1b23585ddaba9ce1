// SPDX-License-Identifier: Apache-2.0
#include "catalog/polish.h"

#include <doctest/doctest.h>

#include <cmath>
#include <functional>
#include <random>

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

/// Cells of 8 mm over a plate of 140 mm at a height of 30 mm, in a frame that is turned and
/// shifted; each reads its contrast with an error of 8 %.
TextureCells texture(const std::function<double(const Vector3d&)>& contrast_at,
                     const Eigen::Affine3d& T_scan_plate, unsigned seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> error(0, 0.08);
  TextureCells detail{8, {}};
  for (int y = -9; y < 9; ++y)
    for (int x = -9; x < 9; ++x) {
      const Vector3d in_scan = Vector3d(8 * x + 4, 8 * y + 4, 30);
      const Vector3d p = T_scan_plate.inverse() * in_scan;
      if (std::abs(p.x()) > 70 || std::abs(p.y()) > 70) continue;
      const double c = contrast_at(p);
      detail.cells.push_back({in_scan, c * (1 + error(random)), 0.08 * c});
    }
  return detail;
}

/// A hold that is grittier on one side than on the other.
double grit(const Vector3d& p) { return 0.2 + 0.001 * p.x(); }

Eigen::Affine3d turned() {
  Eigen::Affine3d T(Eigen::AngleAxisd(0.5, Vector3d::UnitZ()));
  T.translation() = Vector3d(3, -2, 0);
  return T;
}

}  // namespace

TEST_CASE("comparePolish: a rubbed spot is found with its place, size and contrast") {
  const Vector3d spot(25, -15, 30);
  const auto rubbed = [&](const Vector3d& p) { return (p - spot).norm() < 18 ? 0.4 : 1.0; };
  for (unsigned seed = 1; seed <= 10; ++seed) {
    CAPTURE(seed);
    const TextureCells before = texture(grit, Eigen::Affine3d::Identity(), seed);
    // The light of the later capture shows 1.3 times the contrast everywhere.
    const TextureCells now =
        texture([&](const Vector3d& p) { return 1.3 * grit(p) * rubbed(p); }, turned(), seed + 100);
    const Polish polish = comparePolish(before, now, turned().inverse());
    REQUIRE(polish.spots_size() == 1);
    CHECK((Vector3d(polish.spots(0).x_mm(), polish.spots(0).y_mm(), 30) - spot).norm() < 5);
    // Its rim is blurred by the cells: the disc has 1018 square millimetres.
    CHECK(polish.spots(0).area_mm2() > 600);
    CHECK(polish.spots(0).area_mm2() < 1500);
    CHECK(polish.spots(0).contrast_left().value() > 0.38);
    CHECK(polish.spots(0).contrast_left().value() < 0.6);
    CHECK(polish.overall() == doctest::Approx(1.3).epsilon(0.08));
    CHECK(polishText(polish).find("of its contrast") != std::string::npos);
  }
}

TEST_CASE("comparePolish: other light and noise alone are no polish") {
  for (unsigned seed = 1; seed <= 20; ++seed) {
    CAPTURE(seed);
    const TextureCells before = texture(grit, Eigen::Affine3d::Identity(), seed);
    const TextureCells now =
        texture([&](const Vector3d& p) { return 0.5 * grit(p); }, turned(), seed + 100);
    const Polish polish = comparePolish(before, now, turned().inverse());
    CHECK(polish.cells() > 200);
    CHECK(polish.spots().empty());
    CHECK(polishText(polish).empty());
  }
}

TEST_CASE("comparePolish: without texture in either scan it says why nothing is compared") {
  const TextureCells some = texture(grit, Eigen::Affine3d::Identity(), 1);
  const Polish polish = comparePolish(some, {}, Eigen::Affine3d::Identity());
  CHECK(polish.cells() == 0);
  CHECK(!polish.why_not().empty());
}

TEST_CASE("markRubbedChunks: what seems gone where the texture is gone is marked, nothing else") {
  Wear wear;
  PolishSpot& spot = *wear.mutable_polish()->add_spots();
  spot.set_x_mm(-28);
  spot.set_y_mm(4);
  spot.set_z_mm(34);
  spot.set_area_mm2(600);  // A disc of 13.8 mm.
  // Discs of 10 mm: one 20 mm away, which overlaps, one 30 mm away, which does not.
  for (const double away_mm : {20.0, 30.0}) {
    LostChunk& chunk = *wear.add_chunks();
    chunk.set_x_mm(-28 + away_mm);
    chunk.set_y_mm(4);
    chunk.set_z_mm(34);
    chunk.set_area_mm2(314);
  }
  markRubbedChunks(wear);
  CHECK(wear.chunks(0).rubbed());
  CHECK_FALSE(wear.chunks(1).rubbed());
}
