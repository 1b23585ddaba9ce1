// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>
#include <cmath>
#include <opencv2/aruco.hpp>
#include <opencv2/imgproc.hpp>
#include <random>
#include <vector>

#include "capture/colour.h"
#include "capture/mat_background.h"
#include "capture/view.h"
#include "mesh/shade.h"
#include "mesh/srgb.h"
#include "proto/mat.pb.h"
#include "tests/photobooth/camera_rig.h"

namespace holdshelf::test {

/// A small world for tests that need photos but no renderer: a mat of 20 markers round an empty
/// middle, and pictures of it with a shaded mesh in front, under a light of known field.
struct MatScene {
  Mat mat;
  std::vector<Eigen::Vector3d> points_H_mm;
  cv::Mat print;  // CV_8UC1, 4 px a mm, of the square -90..90 mm, row 0 at y = -90.

  MatScene() {
    mat.set_dictionary("DICT_4X4_50");
    print = cv::Mat(721, 721, CV_8UC1, cv::Scalar(255));
    const auto dictionary = cv::aruco::getPredefinedDictionary(cv::aruco::DICT_4X4_50);
    int id = 0;
    for (int row = 0; row < 6; ++row)
      for (int column = 0; column < 6; ++column) {
        if (row > 0 && row < 5 && column > 0 && column < 5) continue;
        // Top left corner, then clockwise seen from above; y points up.
        const double x = -85 + column * 29, y = 85 - row * 29, side = 24;
        Marker* marker = mat.add_markers();
        marker->set_id(id);
        for (const auto& [dx, dy] : {std::pair{0., 0.}, {side, 0.}, {side, -side}, {0., -side}}) {
          MatPoint* corner = marker->add_corners();
          corner->set_x(x + dx);
          corner->set_y(y + dy);
          points_H_mm.emplace_back(x + dx, y + dy, 0);
        }
        cv::Mat picture;
        cv::aruco::drawMarker(dictionary, id++, 96, picture, 1);
        cv::flip(picture, picture, 0);
        picture.copyTo(print(cv::Rect(int((x + 90) * 4), int((y - side + 90) * 4), 96, 96)));
      }
  }

  /// Linear value of white paper at a point: the light of every picture.
  static Eigen::Vector3d white(const Eigen::Vector2d& p) {
    return Eigen::Vector3d(0.62, 0.60, 0.52) * std::exp(0.002 * p.x() - 0.001 * p.y());
  }

  /// A camera that looks at the middle from a direction, 640 x 480.
  static PosedCamera camera(double azimuth_deg, double elevation_deg) {
    const double a = azimuth_deg * M_PI / 180, e = elevation_deg * M_PI / 180;
    const Eigen::Vector3d target(0, 0, 15);
    const Eigen::Vector3d from(std::cos(e) * std::cos(a), std::cos(e) * std::sin(a), std::sin(e));
    PosedCamera c;
    c.model.width_px = 640;
    c.model.height_px = 480;
    c.model.fx_px = c.model.fy_px = 640;
    c.model.cx_px = 322;
    c.model.cy_px = 238;
    c.T_camera_hold = lookAt(target + 300 * from, target, 0);
    return c;
  }

  static RasterCamera rasterCamera(const PosedCamera& c) {
    return {c.model.width_px, c.model.height_px, c.model.fx_px,   c.model.fy_px,
            c.model.cx_px,    c.model.cy_px,     c.T_camera_hold, false};
  }

  /// The picture: mat, striped clutter beyond it that differs from picture to picture, a round soft
  /// shadow at `shadow`, the mesh in front in its own colours, noise. `truth`: the mesh's mask.
  View photograph(const TriangleMesh& mesh, const PosedCamera& c, const Eigen::Vector2d& shadow,
                  unsigned seed, cv::Mat* truth) const {
    View view;
    view.photo = "photo " + std::to_string(seed);
    view.camera = c;
    view.bgr = cv::Mat(480, 640, CV_8UC3);
    const RasterCamera rc = rasterCamera(c);
    const Raster raster = rasterise(mesh, rc);
    ShadeOptions shade;
    shade.occlusion_radius_mm = 0;
    const RasterImage painted = shadeMesh(mesh, rc, raster, {0, 0, 1}, shade);
    const Eigen::Matrix3d R = c.T_camera_hold.rotation().transpose();
    std::mt19937 rng(seed);
    std::normal_distribution<double> noise(0, 0.006);
    if (truth) *truth = cv::Mat(480, 640, CV_8UC1, cv::Scalar(0));
    for (int y = 0; y < 480; ++y)
      for (int x = 0; x < 640; ++x) {
        const Eigen::Vector3d ray = R * c.model.ray(Eigen::Vector2d(x, y));
        const Eigen::Vector3d eye = c.centre_H_mm();
        Eigen::Vector3d rgb;
        const std::size_t i = raster.index(x, y);
        const Eigen::Vector2d p = (eye - ray * (eye.z() / ray.z())).head<2>();
        if (raster.covered(i)) {
          if (truth) truth->at<std::uint8_t>(y, x) = 255;
          for (int k = 0; k < 3; ++k) rgb[k] = 0.6 * double(linearFromSrgb(painted.rgb[i * 3 + k]));
        } else if (ray.z() < 0 && p.cwiseAbs().maxCoeff() < 89.5) {
          rgb = white(p) * (0.06 + 0.94 * ink(p));
          rgb *= 1 - 0.5 / (1 + std::exp((p - shadow).norm() / 3 - 8));  // Umbra, 24 mm, soft rim.
        } else {
          const bool stripe = ((x + int(17 * seed)) / 23 + (y + int(29 * seed)) / 31) % 2;
          rgb = stripe ? Eigen::Vector3d(0.10, 0.22, 0.30) : Eigen::Vector3d(0.35, 0.30, 0.12);
        }
        for (int k = 0; k < 3; ++k)
          view.bgr.at<cv::Vec3b>(y, x)[2 - k] = srgbFromLinear(rgb[k] + noise(rng));
      }
    return view;
  }

 private:
  double ink(const Eigen::Vector2d& p) const {
    const double x = (p.x() + 90) * 4 - 0.5, y = (p.y() + 90) * 4 - 0.5;
    return print.at<std::uint8_t>(std::clamp(int(std::lround(y)), 0, 720),
                                  std::clamp(int(std::lround(x)), 0, 720)) /
           255.0;
  }
};

/// A capped cylinder that stands on the mat, with a smaller one on top of it.
inline TriangleMesh twoDrums(const std::array<std::uint8_t, 3>& colour) {
  TriangleMesh mesh;
  constexpr int kAround = 96;
  const double profile[][2] = {{0, 0}, {30, 0}, {30, 18}, {16, 20}, {14, 40}, {0, 40}};
  for (const auto& [r, z] : profile)
    for (int k = 0; k < kAround; ++k) {
      const double a = 2 * M_PI * k / kAround;
      mesh.vertices_mm.emplace_back(r * std::cos(a) + 4, r * std::sin(a) - 3, z);
    }
  for (int ring = 0; ring < 5; ++ring)
    for (int k = 0; k < kAround; ++k) {
      const int a = ring * kAround + k, b = ring * kAround + (k + 1) % kAround;
      mesh.triangles.emplace_back(a, b, b + kAround);
      mesh.triangles.emplace_back(a, b + kAround, a + kAround);
    }
  mesh.colours.assign(mesh.vertices_mm.size(), colour);
  return mesh;
}

/// 14 pictures in two rings of two drums on the mat. The shadow turns with the camera, as under a
/// lamp beside it.
struct DrumPhotos {
  MatScene world;
  std::vector<View> views;
  std::vector<cv::Mat> truth;  ///< The drums' masks.

  explicit DrumPhotos(const std::array<std::uint8_t, 3>& colour) {
    const TriangleMesh mesh = twoDrums(colour);
    for (int k = 0; k < 14; ++k) {
      const double azimuth = 360.0 / 14 * k, a = (azimuth + 70) * M_PI / 180;
      cv::Mat mask;
      views.push_back(world.photograph(mesh, MatScene::camera(azimuth, k % 2 ? 55 : 20),
                                       30 * Eigen::Vector2d(std::cos(a), std::sin(a)),
                                       unsigned(k + 1), &mask));
      truth.push_back(mask);
    }
  }
};

/// Intersection over union.
inline double overlap(const cv::Mat& a, const cv::Mat& b) {
  return double(cv::countNonZero(a & b)) / cv::countNonZero(a | b);
}

}  // namespace holdshelf::test
