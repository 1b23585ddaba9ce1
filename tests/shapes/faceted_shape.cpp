// SPDX-License-Identifier: Apache-2.0
#include "tests/shapes/faceted_shape.h"

#include <algorithm>
#include <cmath>

namespace holdshelf {
namespace {

constexpr double kDeg = 3.14159265358979323846 / 180;

void set(Measured* measured, double value, double sigma) {
  measured->set_value(value);
  measured->set_sigma(sigma);
}

void addGrip(Shape& shape, const FaceSpec& face, double rotation_deg, double turn_deg) {
  const double turn = turn_deg * kDeg;
  Grip& grip = *shape.add_grips();
  grip.set_rotation_deg(rotation_deg);
  set(grip.mutable_edge_depth_mm(), face.depth_mm, face.sigma_mm);
  set(grip.mutable_lip_radius_mm(), face.lip_radius_mm, face.sigma_mm);
  const double incut = std::atan(std::tan(face.incut_deg * kDeg) / std::cos(turn));
  set(grip.mutable_incut_deg(), incut / kDeg, face.sigma_deg);
  set(grip.mutable_edge_along_mm(), face.depth_mm / std::cos(incut), face.sigma_mm);
  set(grip.mutable_edge_width_mm(), face.width_mm * std::cos(turn), face.sigma_mm);
  grip.set_lip_sweep_deg(90 + incut / kDeg);
  grip.set_lip_z_mm(face.depth_mm);
  grip.set_lip_height_mm(face.distance_mm / std::cos(turn));
  const double half = face.width_mm * std::cos(turn) / 2;
  const int places = std::max(2, static_cast<int>(std::ceil(2 * half / 4)) + 1);
  for (int i = 0; i < places; ++i) {
    EdgePlace& place = *grip.add_run();
    place.set_offset_mm(-half + 2 * half * i / (places - 1));
    place.set_depth_mm(face.depth_mm);
    place.set_lip_height_mm(grip.lip_height_mm() - std::tan(turn) * place.offset_mm());
  }
}

}  // namespace

Shape facetedShape(const std::vector<FaceSpec>& faces) {
  Shape shape;
  double reach = 0, protrusion = 0;
  for (const FaceSpec& face : faces) {
    reach = std::max({reach, 2 * face.distance_mm, face.width_mm});
    protrusion = std::max(protrusion, face.depth_mm);
  }
  set(shape.mutable_protrusion_mm(), protrusion, 0.2);
  set(shape.mutable_longest_extent_mm(), reach, 0.3);
  for (int step = 0; step < 72; ++step)
    for (const FaceSpec& face : faces) {
      const double rotation_deg = 5.0 * step;
      // At rotation r the pull's opposite, +u, points at 90 - r in the hold frame.
      const double turn_deg = std::remainder(90 - rotation_deg - face.facing_deg, 360.0);
      if (std::abs(turn_deg) <= 80) addGrip(shape, face, rotation_deg, turn_deg);
    }
  return shape;
}

Shape opposedFaces(double incut_deg) {
  FaceSpec up{
      .facing_deg = 0, .depth_mm = 80, .width_mm = 200, .incut_deg = incut_deg, .distance_mm = 180};
  FaceSpec down = up;
  down.facing_deg = 180;
  return facetedShape({up, down});
}

}  // namespace holdshelf
