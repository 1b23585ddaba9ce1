// SPDX-License-Identifier: Apache-2.0
#include "tests/photobooth/mishap.h"

#include <functional>
#include <numbers>
#include <stdexcept>

namespace holdshelf {
namespace {

using Eigen::Vector3d;

struct Recipe {
  Mishap mishap;
  std::function<void(BoothOptions&)> apply;
};

Eigen::Isometry3d shifted(double x_mm, double y_mm, double turn_deg) {
  Eigen::Isometry3d T = Eigen::Isometry3d::Identity();
  T.translation() = Vector3d(x_mm, y_mm, 0);
  T.rotate(Eigen::AngleAxisd(turn_deg * std::numbers::pi / 180, Vector3d::UnitZ()));
  return T;
}

void nudge(BoothOptions& o, const Eigen::Isometry3d& T) {
  o.nudged_from = o.rig.photos / 2;
  o.T_nudge = T;
}

/// Four fingers and a palm that reach in over the mat's edge at +x.
Guest hand() {
  Sdf solid = translate(ellipsoid({48, 42, 20}), {105, 0, 75});
  for (int i = 0; i < 4; ++i) {
    const double y = -30 + 20 * i, reach = i == 0 || i == 3 ? 30 : 15;
    solid = unite(solid, capsule({75, y * 0.9, 72}, {reach, y, 52}, 8.5), 8);
  }
  solid = unite(solid, capsule({130, 0, 80}, {330, 20, 110}, 30), 15);
  return {solid, {Vector3d(-5, -60, 30), Vector3d(370, 60, 145)}, {0.22f, 0.33f, 0.55f}};
}

/// A sheet of card over the half of the mat with x > 35 mm.
Guest card() {
  return {translate(box({120, 160, 1}), {155, 0, 2.6}),
          {Vector3d(34, -162, 1), Vector3d(276, 162, 4)},
          {0.25f, 0.28f, 0.30f}};
}

const std::vector<Recipe>& recipes() {
  static const std::vector<Recipe> all = {
      {{"hold-nudged", "the hold is pushed on the mat half way through"},
       [](BoothOptions& o) { nudge(o, shifted(5, -3, 7)); }},
      {{"mat-nudged", "the mat is pulled under the hold half way through"},
       [](BoothOptions& o) { nudge(o, shifted(4, 6, -4).inverse()); }},
      {{"blurred-third", "every third photo is blurred by a shake"},
       [](BoothOptions& o) { o.blurred_every = 3; }},
      {{"zoomed", "the zoom is changed after two thirds"},
       [](BoothOptions& o) {
         o.second_camera_from = o.rig.photos * 2 / 3;
         o.second_field_of_view_deg = o.field_of_view_deg / 1.35;
       }},
      {{"two-cameras", "a third of the photos is from another phone, with another picture size"},
       [](BoothOptions& o) {
         o.second_camera_from = o.rig.photos * 2 / 3;
         o.second_field_of_view_deg = 72;
         o.second_width_px = o.width_px * 5 / 4;
         o.second_height_px = o.second_width_px * 9 / 16;
       }},
      {{"deep-shadow", "one small lamp, hardly any other light"},
       [](BoothOptions& o) {
         o.stage.ambient = 0.03;
         o.stage.light_size = 0.15;
         o.stage.fill_light = 0.02;
         o.stage.back_light = 0.01;
       }},
      {{"burnt-out", "a glossy hold, over-exposed"},
       [](BoothOptions& o) {
         o.stage.paint.gloss = 0.95f;
         o.stage.light_size = 1.4;
         o.sensor.exposure = 2.4;
       }},
      {{"hand", "a hand reaches over the hold in one photo"},
       [](BoothOptions& o) {
         o.guest = hand();
         o.guest_from = o.rig.photos / 3;
         o.guest_to = o.guest_from + 1;
       }},
      {{"high-ring-only", "all photos from high above"},
       [](BoothOptions& o) { o.rig.rings_deg = {62}; }},
      {{"half-mat-hidden", "a card lies over half of the mat"},
       [](BoothOptions& o) {
         o.guest = card();
         o.guest_to = o.rig.photos;
       }},
      {{"wrong-mat-file", "the mat file describes other markers with the same ids"},
       [](BoothOptions& o) {
         o.mat_in_file = o.mat;
         o.mat_in_file->marker_mm *= 0.8;
         o.mat_in_file->gap_mm *= 2;
       }},
      {{"printed-97", "the printer shrank the mat to 97 %"},
       [](BoothOptions& o) { o.mat.print_scale = 0.97; }},
      {{"overhanging", "the hold covers most of the markers (use with --shape volume)"},
       [](BoothOptions& o) { o.mat.flat_radius_mm = 200; }},
      {{"out-of-order", "the photos are in no order"}, [](BoothOptions& o) { o.shuffled = true; }},
      {{"moving-background", "what stands around changes from photo to photo"},
       [](BoothOptions& o) { o.moving_background = true; }}};
  return all;
}

}  // namespace

const std::vector<Mishap>& mishaps() {
  static const std::vector<Mishap> names = [] {
    std::vector<Mishap> out;
    for (const Recipe& r : recipes()) out.push_back(r.mishap);
    return out;
  }();
  return names;
}

void letGoWrong(const std::string& name, BoothOptions& options) {
  std::string known;
  for (const Recipe& r : recipes()) {
    if (r.mishap.name == name) return r.apply(options);
    known += (known.empty() ? "" : ", ") + r.mishap.name;
  }
  throw std::invalid_argument("No mishap is called \"" + name + "\"; there are " + known + ".");
}

}  // namespace holdshelf
