// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>
#include <cstdint>
#include <memory>
#include <opencv2/core.hpp>
#include <optional>

#include "capture/camera.h"
#include "mesh/triangle_mesh.h"
#include "tests/photobooth/mat_sheet.h"
#include "tests/photobooth/material.h"
#include "tests/photobooth/surface.h"
#include "tests/shapes/holds.h"

namespace holdshelf {

/// A rectangular light, world frame, mm.
struct AreaLight {
  Eigen::Vector3f centre, half_u, half_v;
  float power = 1;  ///< Relative irradiance on a sheet facing it at the mat's middle.
};

/// Something on or over the mat that is neither mat nor hold: a hand, a card. Frame M, mm.
struct Guest {
  Sdf solid;
  Eigen::AlignedBox3d box_mm;
  Eigen::Vector3f albedo_bgr;
};

struct StageOptions {
  HoldPaint paint;
  double mesh_cell_mm = 0.35;  ///< The hold's triangles are cut from its exact shape this fine.
  double key_light = 1, fill_light = 0.45, back_light = 0.3;
  double light_size = 1;   ///< Scales the lights: small ones cast hard shadows.
  double ambient = 0.45;   ///< Sky's share of the light on the mat.
  bool turntable = false;  ///< A disc under the mat that turns with it.
  int clutter = 24;        ///< Things that stand round about.
  std::optional<Guest> guest;
  std::uint32_t seed = 1;
};

/// Thin lens. The aperture is a disc; objects at the focus distance are sharp.
struct Lens {
  double aperture_mm = 1.0;  ///< Diameter.
  double focus_mm = 300;     ///< Along the optical axis.
  int samples = 6;           ///< A pixel.
};

/// A hold on its mat, on a table among clutter, under area lights; ready to be photographed. The
/// mat's frame is the hold frame. In the world, which holds table, clutter and lights, the mat
/// with its hold is turned about +z by the turntable's angle.
class Stage {
 public:
  Stage(const ExactHold& hold, const MatSheet& mat, const StageOptions& options);
  ~Stage();

  /// Turns the mat in the world and lights it anew. On a turntable to be called before each photo.
  void turn(double angle_deg);

  /// Puts other things in the background.
  void rearrangeClutter(std::uint32_t seed);

  /// Mean radiance over each pixel, linear BGR, CV_32FC3; white paper comes out near 0.6.
  cv::Mat expose(const PosedCamera& camera, const Lens& lens, std::uint32_t seed) const;

  /// The exact shape's triangles that were photographed.
  const TriangleMesh& holdMesh() const;

 private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

}  // namespace holdshelf
