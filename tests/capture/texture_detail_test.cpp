// SPDX-License-Identifier: Apache-2.0
#include "capture/texture_detail.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "capture/colour.h"
#include "mesh/srgb.h"
#include "tests/photobooth/camera_rig.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

constexpr double kHeight_mm = 12;

/// A square plate of 40 mm, facing up.
TriangleMesh plate() {
  TriangleMesh mesh;
  constexpr int kSide = 41;
  for (int y = 0; y < kSide; ++y)
    for (int x = 0; x < kSide; ++x) mesh.vertices_mm.emplace_back(x - 20, y - 20, kHeight_mm);
  for (int y = 0; y + 1 < kSide; ++y)
    for (int x = 0; x + 1 < kSide; ++x) {
      const int a = y * kSide + x;
      mesh.triangles.emplace_back(a, a + 1, a + kSide + 1);
      mesh.triangles.emplace_back(a, a + kSide + 1, a + kSide);
    }
  return mesh;
}

/// The plate's plane photographed from above at a slant: brightness 0.3 (1 + a cos(2 pi x / wave)),
/// the mean over 4 x 4 rays a pixel, with a noise of each pixel.
View photograph(double azimuth_deg, double distance_mm, double amplitude, double wave_mm,
                double noise, unsigned seed) {
  const double a = azimuth_deg * std::numbers::pi / 180, e = 60 * std::numbers::pi / 180;
  const Vector3d from(std::cos(e) * std::cos(a), std::cos(e) * std::sin(a), std::sin(e));
  View view;
  view.camera.model = {640, 480, 1100, 1100, 319.5, 239.5};
  const Vector3d target(0, 0, kHeight_mm);
  view.camera.T_camera_hold = lookAt(target + distance_mm * from, target, 0);
  const Eigen::Matrix3d R = view.camera.T_camera_hold.linear();
  view.bgr = cv::Mat(480, 640, CV_8UC3);
  const Vector3d eye = view.camera.centre_H_mm();
  std::mt19937 random(seed);
  std::normal_distribution<double> grain(0, noise);
  for (int y = 0; y < 480; ++y)
    for (int x = 0; x < 640; ++x) {
      double sum = 0;
      for (int k = 0; k < 16; ++k) {
        const Vector3d way = R.transpose() * view.camera.model.ray({x + (k % 4 - 1.5) / 4.0,
                                                                    y + (k / 4 - 1.5) / 4.0});
        const double t = (kHeight_mm - eye.z()) / way.z();
        const double at = eye.x() + t * way.x();
        sum += 0.3 * (1 + amplitude * std::cos(2 * std::numbers::pi * at / wave_mm)) / 16;
      }
      view.bgr.at<cv::Vec3b>(y, x) = cv::Vec3b::all(srgbFromLinear(sum + grain(random)));
    }
  return view;
}

std::vector<View> ring(double distance_mm, double amplitude, double wave_mm, double noise) {
  std::vector<View> views;
  for (unsigned k = 0; k < 6; ++k)
    views.push_back(photograph(60 * k, distance_mm, amplitude, wave_mm, noise, k + 1));
  return views;
}

/// Root mean square over the cells.
double contrastOf(const TextureCells& texture) {
  double sum = 0;
  for (const TextureCell& cell : texture.cells) sum += cell.contrast * cell.contrast;
  return std::sqrt(sum / static_cast<double>(texture.cells.size()));
}

}  // namespace

TEST_CASE("textureDetail: the contrast of a wave is that of a difference of two Gaussians") {
  // A Gaussian of standard deviation s passes exp(-2 pi^2 s^2 / wave^2) of a wave's amplitude, and
  // the root mean square of a wave is its amplitude over the square root of two.
  for (const double wave : {2.0, 3.0, 5.0}) {
    CAPTURE(wave);
    const double k = 2 * std::pow(std::numbers::pi / wave, 2);
    const double passed = std::exp(-k * 0.45 * 0.45) - std::exp(-k * 1.35 * 1.35);
    const TextureCells detail = textureDetail(plate(), ring(220, 0.2, wave, 0), {});
    REQUIRE(detail.cells.size() >= 9);
    CHECK(contrastOf(detail) ==
          doctest::Approx(0.2 * std::abs(passed) / std::numbers::sqrt2).epsilon(0.06));
  }
}

TEST_CASE("textureDetail: near and far photos agree, and half the contrast reads as half") {
  const double near = contrastOf(textureDetail(plate(), ring(180, 0.2, 2.5, 0), {}));
  const double far = contrastOf(textureDetail(plate(), ring(360, 0.2, 2.5, 0), {}));
  const double half = contrastOf(textureDetail(plate(), ring(250, 0.1, 2.5, 0), {}));
  CHECK(far == doctest::Approx(near).epsilon(0.06));
  CHECK(half == doctest::Approx(near / 2).epsilon(0.06));
}

TEST_CASE("textureDetail: noise of the photos is no texture, and too coarse photos say nothing") {
  const double noise = 0.03;  // A tenth of the brightness, in each pixel.
  CHECK(contrastOf(textureDetail(plate(), ring(220, 0, 3, noise), {})) < 0.004);
  const double clean = contrastOf(textureDetail(plate(), ring(220, 0.1, 3, 0), {}));
  CHECK(contrastOf(textureDetail(plate(), ring(220, 0.1, 3, noise), {})) ==
        doctest::Approx(clean).epsilon(0.08));
  CHECK(textureDetail(plate(), ring(900, 0.2, 3, 0), {}).cells.empty());
}
