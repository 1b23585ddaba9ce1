// SPDX-License-Identifier: Apache-2.0
#include "tests/photobooth/booth.h"

#include <google/protobuf/struct.pb.h>
#include <google/protobuf/util/json_util.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <memory>
#include <numbers>
#include <opencv2/imgcodecs.hpp>
#include <stdexcept>

#include "mesh/bad_input.h"
#include "mesh/mesh_io.h"
#include "tests/photobooth/noise.h"

namespace holdshelf {
namespace {

namespace fs = std::filesystem;
using google::protobuf::Struct;
using google::protobuf::Value;

void writeText(const fs::path& path, const std::string& text) {
  std::ofstream out(path, std::ios::binary);
  out << text << '\n';
  if (!out.flush()) throw std::runtime_error("Cannot write " + path.string() + ".");
}

std::string json(const google::protobuf::Message& message) {
  std::string text;
  google::protobuf::util::JsonPrintOptions options;
  options.add_whitespace = true;

  if (!google::protobuf::util::MessageToJsonString(message, &text, options).ok())
    throw std::runtime_error("Cannot write JSON.");
  return text;
}

void put(Struct& s, const std::string& key, const std::optional<double>& value) {
  if (value) (*s.mutable_fields())[key].set_number_value(*value);
}

Struct truth(const ExactHold& hold, const MatSheet& sheet) {
  Struct s;
  (*s.mutable_fields())["shape"].set_string_value(hold.name);
  put(s, "protrusionMm", hold.protrusion_mm);
  put(s, "edgeDepthMm", hold.edge_depth_mm);
  if (hold.edge_depth_mm) put(s, "edgeRotationDeg", hold.edge_rotation_deg);
  put(s, "lipRadiusMm", hold.lip_radius_mm);
  put(s, "incutDeg", hold.incut_deg);
  put(s, "edgeWidthMm", hold.edge_width_mm);
  put(s, "pinchTopMm", hold.pinch_top_mm);
  put(s, "pinchTaperDeg", hold.pinch_taper_deg);
  put(s, "pocketWidthMm", hold.pocket_width_mm);
  put(s, "pocketHeightMm", hold.pocket_height_mm);
  put(s, "pocketDepthMm", hold.pocket_depth_mm);
  put(s, "domeRadiusMm", hold.dome_radius_mm);
  if (hold.bolt) {
    Struct& bolt = *(*s.mutable_fields())["bolt"].mutable_struct_value();
    put(bolt, "xMm", hold.bolt->axis_mm.x());
    put(bolt, "yMm", hold.bolt->axis_mm.y());
    put(bolt, "seatHeightMm", hold.bolt->seat_height_mm);
    put(bolt, "boreMm", hold.bolt->bore_mm);
    put(bolt, "recessMm", hold.bolt->recess_mm);
    (*bolt.mutable_fields())["seat"].set_string_value(
        hold.bolt->seat == ExactBolt::Seat::Flat ? "FLAT" : "CONE");
  }
  Struct& corners = *(*s.mutable_fields())["cornersOnPaperMm"].mutable_struct_value();
  for (int i = 0; i < sheet.mat().markers_size(); ++i) {
    auto& list = *(*corners.mutable_fields())[std::to_string(sheet.mat().markers(i).id())]
                      .mutable_list_value();
    for (int c = 0; c < 4; ++c) {
      const Eigen::Vector3d p = sheet.cornerOnPaper_mm(i, c);
      auto& point = *list.add_values()->mutable_list_value();
      for (double v : p) point.add_values()->set_number_value(v);
    }
  }
  return s;
}

RigOptions aimed(const ExactHold& hold, const BoothOptions& options, const CameraModel& model) {
  RigOptions rig = options.rig;
  const Eigen::Vector3d size = hold.box_mm.sizes();
  rig.target_mm = hold.box_mm.center();
  rig.target_mm.z() = 0.35 * size.z();
  const double extent = std::hypot(std::max(size.x(), size.y()), 0.5 * size.z());
  rig.distance_mm =
      std::clamp(model.fx_px * extent / (options.fill * model.height_px), 130.0, 520.0);
  rig.seed = options.seed;
  return rig;
}

std::string photoName(int i) {
  char name[32];
  std::snprintf(name, sizeof name, "photo_%03d.jpg", i + 1);
  return name;
}

/// The scenes of one capture, set up when first needed: with the hold moved, with a guest.
class Scenes {
 public:
  Scenes(const ExactHold& hold, const MatSheet& sheet, const BoothOptions& options)
      : hold_(hold), sheet_(sheet), options_(options) {}

  Stage& forPhoto(int i) {
    const bool nudged = options_.nudged_from >= 0 && i >= options_.nudged_from;
    const bool guest = options_.guest && i >= options_.guest_from && i < options_.guest_to;
    std::unique_ptr<Stage>& stage = stages_[nudged][guest];
    if (!stage) {
      ExactHold placed = hold_;
      if (nudged) {
        placed.solid = transform(hold_.solid, options_.T_nudge);
        placed.box_mm = hold_.box_mm.transformed(options_.T_nudge);
      }
      StageOptions stage_options = options_.stage;
      if (guest) stage_options.guest = options_.guest;
      stage = std::make_unique<Stage>(placed, sheet_, stage_options);
    }
    return *stage;
  }

 private:
  const ExactHold& hold_;
  const MatSheet& sheet_;
  const BoothOptions& options_;
  std::unique_ptr<Stage> stages_[2][2];
};

/// The cameras of the capture, photo by photo.
std::vector<PosedCamera> cameraOfEachPhoto(const RigOptions& rig, const CameraModel& model,
                                           const BoothOptions& o) {
  std::vector<PosedCamera> cameras = takeRound(model, rig);
  if (o.shuffled) {
    Random random(o.seed + 99);
    for (std::size_t i = cameras.size(); i > 1; --i)
      std::swap(cameras[i - 1], cameras[random.bits() % i]);
  }
  if (o.second_camera_from >= 0) {
    const CameraModel second = phoneCamera(o.second_width_px ? o.second_width_px : o.width_px,
                                           o.second_height_px ? o.second_height_px : o.height_px,
                                           o.second_field_of_view_deg);
    for (std::size_t i = static_cast<std::size_t>(o.second_camera_from); i < cameras.size(); ++i)
      cameras[i].model = second;
  }
  return cameras;
}

cv::Mat takePhoto(Stage& stage, const PosedCamera& camera, const RigOptions& rig,
                  const BoothOptions& o, int i) {
  const std::uint32_t seed = mix(o.seed * 1000003u + static_cast<std::uint32_t>(i));
  Random random(seed);
  if (o.moving_background) stage.rearrangeClutter(seed);
  if (o.stage.turntable) {
    const Eigen::Vector3d eye = camera.centre_H_mm() - rig.target_mm;
    stage.turn(-std::atan2(eye.y(), eye.x()) * 180 / std::numbers::pi);
  }
  Lens lens = o.lens;
  lens.focus_mm = (camera.T_camera_hold * rig.target_mm).z() * (1 + 0.02 * random.normal());
  SensorOptions sensor = o.sensor;
  sensor.seed = seed;
  sensor.exposure *= std::exp(o.exposure_wobble * random.normal());
  sensor.white_balance_b *= 1 + 0.01 * random.normal();
  sensor.white_balance_r *= 1 + 0.01 * random.normal();
  if (o.blurred_every > 0 && i % o.blurred_every == o.blurred_every - 1)
    sensor.blur_px = 0.0035 * o.width_px;
  return develop(stage.expose(camera, lens, seed), sensor);
}

}  // namespace

void photograph(const ExactHold& hold, const BoothOptions& options, const fs::path& folder,
                const Progress& progress) {
  if (fs::exists(folder)) throw std::runtime_error(folder.string() + " exists already.");
  const fs::path work = folder.string() + ".partial";
  fs::remove_all(work);
  fs::create_directories(work);

  const CameraModel model =
      phoneCamera(options.width_px, options.height_px, options.field_of_view_deg);
  const RigOptions rig = aimed(hold, options, model);
  const std::vector<PosedCamera> cameras = cameraOfEachPhoto(rig, model, options);
  const MatSheet sheet(options.mat);
  Scenes scenes(hold, sheet, options);
  std::string cameras_json = "[";
  for (int i = 0; i < static_cast<int>(cameras.size()); ++i) {
    if (progress && !progress("photographing", i / static_cast<double>(cameras.size()))) {
      fs::remove_all(work);
      throw Interrupted();
    }
    const PosedCamera& camera = cameras[static_cast<std::size_t>(i)];
    const cv::Mat photo = takePhoto(scenes.forPhoto(i), camera, rig, options, i);
    cv::imwrite((work / photoName(i)).string(), photo,
                {cv::IMWRITE_JPEG_QUALITY, options.jpeg_quality});
    cameras_json += (i ? ",\n" : "\n") + json(toProto(photoName(i), camera));
  }
  writeText(work / "truth_cameras.json", cameras_json + "]");
  writeText(work / "mat.json", json(MatSheet(options.mat_in_file.value_or(options.mat)).mat()));
  writeText(work / "truth.json", json(truth(hold, sheet)));
  writePly(work / "truth.ply", scenes.forPhoto(0).holdMesh());
  fs::rename(work, folder);
}

}  // namespace holdshelf
