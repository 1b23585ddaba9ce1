// SPDX-License-Identifier: Apache-2.0
#include "tests/photobooth/booth.h"

#include <google/protobuf/struct.pb.h>
#include <google/protobuf/util/json_util.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <numbers>
#include <opencv2/imgcodecs.hpp>
#include <stdexcept>

#include "mesh/bad_input.h"
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

/// Binary little-endian PLY, positions only.
void writePly(const fs::path& path, const TriangleMesh& mesh) {
  std::ofstream out(path, std::ios::binary);
  out << "ply\nformat binary_little_endian 1.0\nelement vertex " << mesh.vertices_mm.size()
      << "\nproperty float x\nproperty float y\nproperty float z\nelement face "
      << mesh.triangles.size() << "\nproperty list uchar int vertex_indices\nend_header\n";
  for (const Eigen::Vector3d& p : mesh.vertices_mm) {
    const Eigen::Vector3f f = p.cast<float>();
    out.write(reinterpret_cast<const char*>(f.data()), 12);
  }
  for (const Eigen::Vector3i& t : mesh.triangles) {
    out.put(3);
    out.write(reinterpret_cast<const char*>(t.data()), 12);
  }
  if (!out.flush()) throw std::runtime_error("Cannot write " + path.string() + ".");
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
      std::clamp(model.fx_px * extent / (options.fill * model.height_px), 190.0, 520.0);
  rig.seed = options.seed;
  return rig;
}

std::string photoName(int i) {
  char name[32];
  std::snprintf(name, sizeof name, "photo_%03d.jpg", i + 1);
  return name;
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
  const std::vector<PosedCamera> cameras = takeRound(model, rig);
  const MatSheet sheet(options.mat);
  Stage stage(hold, sheet, options.stage);
  std::string cameras_json = "[";
  for (int i = 0; i < static_cast<int>(cameras.size()); ++i) {
    if (progress && !progress("photographing", i / static_cast<double>(cameras.size()))) {
      fs::remove_all(work);
      throw Interrupted();
    }
    const PosedCamera& camera = cameras[static_cast<std::size_t>(i)];
    const std::uint32_t seed = mix(options.seed * 1000003u + static_cast<std::uint32_t>(i));
    Random random(seed);
    if (options.stage.turntable) {
      const Eigen::Vector3d eye = camera.centre_H_mm() - rig.target_mm;
      stage.turn(-std::atan2(eye.y(), eye.x()) * 180 / std::numbers::pi);
    }
    Lens lens = options.lens;
    lens.focus_mm = (camera.T_camera_hold * rig.target_mm).z() * (1 + 0.02 * random.normal());
    SensorOptions sensor = options.sensor;
    sensor.seed = seed;
    sensor.exposure *= std::exp(options.exposure_wobble * random.normal());
    sensor.white_balance_b *= 1 + 0.01 * random.normal();
    sensor.white_balance_r *= 1 + 0.01 * random.normal();
    const cv::Mat photo = develop(stage.expose(camera, lens, seed), sensor);
    cv::imwrite((work / photoName(i)).string(), photo,
                {cv::IMWRITE_JPEG_QUALITY, options.jpeg_quality});
    cameras_json += (i ? ",\n" : "\n") + json(toProto(photoName(i), camera));
  }
  writeText(work / "truth_cameras.json", cameras_json + "]");
  writeText(work / "mat.json", json(sheet.mat()));
  writeText(work / "truth.json", json(truth(hold, sheet)));
  writePly(work / "truth.ply", stage.holdMesh());
  fs::rename(work, folder);
}

}  // namespace holdshelf
