// SPDX-License-Identifier: Apache-2.0
#include "capture/stored_stages.h"

#include <tbb/parallel_for.h>

#include <cstring>
#include <map>
#include <opencv2/imgcodecs.hpp>

#include "capture/photo.h"
#include "capture/stage.h"
#include "capture/undistort.h"

namespace holdshelf {
namespace {

template <class T>
std::string rawBytes(const std::vector<T>& values) {
  return {reinterpret_cast<const char*>(values.data()), values.size() * sizeof(T)};
}

template <class T>
std::vector<T> valuesIn(const std::string& bytes) {
  std::vector<T> values(bytes.size() / sizeof(T));
  if (!values.empty())
    std::memcpy(static_cast<void*>(values.data()), bytes.data(), values.size() * sizeof(T));
  return values;
}

constexpr char kEarlier[] = " (earlier run)";

template <class Times>
std::vector<StageTime> reused(const Times& times) {
  std::vector<StageTime> out(times.begin(), times.end());
  for (StageTime& time : out)
    if (!isReused(time)) time.set_stage(time.stage() + kEarlier);
  return out;
}

Pose poseOf(const Eigen::Isometry3d& T) { return toProto("", PosedCamera{{}, T}).t_camera_hold(); }

Eigen::Isometry3d isometryOf(const Pose& pose) {
  PhotoCamera camera;
  *camera.mutable_t_camera_hold() = pose;
  return fromProto(camera).T_camera_hold;
}

void setFigures(const CalibratedCapture& from, StoredViews& to) {
  to.set_orientation(from.orientation);
  to.set_rms_px(from.rms_px);
  to.set_focal_sigma_px(from.focal_sigma_px);
  to.set_mat_scale(from.mat_scale);
  to.set_mat_bend_mm(from.mat_bend_mm);
  to.set_scale_sigma_rel(from.scale_sigma_rel);
  to.set_plane_sigma_mm(from.plane_sigma_mm);
  to.set_mat_seen(from.mat_in_view.share);
  to.set_mat_gap_deg(from.mat_in_view.gap_deg);
  *to.mutable_lens() = toProto(from.lens);
  *to.mutable_t_hold_mat() = poseOf(from.T_hold_mat);
  *to.mutable_paper() = from.paper;
  for (const Eigen::Vector3d& p : from.mat_points_H_mm)
    for (int k = 0; k < 3; ++k) to.add_mat_points_mm(p[k]);
  for (const std::string& warning : from.warnings) to.add_warnings(warning);
}

void takeFigures(const StoredViews& from, CalibratedCapture& to) {
  to.orientation = from.orientation();
  to.rms_px = from.rms_px();
  to.focal_sigma_px = from.focal_sigma_px();
  to.mat_scale = from.mat_scale();
  to.mat_bend_mm = from.mat_bend_mm();
  to.scale_sigma_rel = from.scale_sigma_rel();
  to.plane_sigma_mm = from.plane_sigma_mm();
  to.mat_in_view = {from.mat_seen(), from.mat_gap_deg()};
  to.lens = fromProto(from.lens());
  to.T_hold_mat = isometryOf(from.t_hold_mat());
  to.paper = from.paper();
  for (int k = 0; k + 2 < from.mat_points_mm_size(); k += 3)
    to.mat_points_H_mm.emplace_back(from.mat_points_mm(k), from.mat_points_mm(k + 1),
                                    from.mat_points_mm(k + 2));
  to.warnings.assign(from.warnings().begin(), from.warnings().end());
}

}  // namespace

bool isReused(const StageTime& time) { return time.stage().ends_with(kEarlier); }

std::string storedViews(const CalibratedCapture& capture) {
  StoredViews out;
  setFigures(capture, out);
  for (const PhotoReport& report : capture.reports) *out.add_photos() = report;
  for (const StageTime& time : capture.times) *out.add_times() = time;
  for (const View& view : capture.views) {
    *out.add_cameras() = toProto(view.photo, view.camera);
    if (view.mask.empty()) continue;
    std::vector<std::uint8_t> png;
    cv::imencode(".png", view.mask, png, {cv::IMWRITE_PNG_COMPRESSION, 1});
    out.add_masks(rawBytes(png));
  }
  return out.SerializeAsString();
}

std::optional<CalibratedCapture> restoredViews(const std::string& bytes,
                                               const std::vector<std::filesystem::path>& photos,
                                               const Progress& progress) {
  StoredViews stored;
  if (!stored.ParseFromString(bytes)) return std::nullopt;
  std::map<std::string, std::filesystem::path> files;
  const std::vector<std::string> names = photoNames(photos);
  for (std::size_t i = 0; i < photos.size(); ++i) files[names[i]] = photos[i];
  const auto count = static_cast<std::size_t>(stored.cameras_size());
  const bool masked = stored.masks_size() > 0;
  if (masked && stored.masks_size() != stored.cameras_size()) return std::nullopt;
  for (const PhotoCamera& camera : stored.cameras())
    if (!files.count(camera.photo())) return std::nullopt;

  CalibratedCapture out;
  takeFigures(stored, out);
  out.reports.assign(stored.photos().begin(), stored.photos().end());
  out.times = reused(stored.times());
  out.views.resize(count);
  const Undistorter undistorter(out.lens);
  Stage stage(progress, "Reading photos again", count);
  tbb::parallel_for(std::size_t{0}, count, [&](std::size_t i) {
    const PhotoCamera& camera = stored.cameras(static_cast<int>(i));
    Photo photo = readPhoto(files.at(camera.photo()));
    if (photo.orientation != out.orientation)
      photo.bgr = reorient(photo.bgr, photo.orientation, out.orientation);
    out.views[i] = undistorter.view(camera.photo(), photo.bgr, fromProto(camera).T_camera_hold);
    if (masked) {
      const auto png = valuesIn<std::uint8_t>(stored.masks(static_cast<int>(i)));
      out.views[i].mask = cv::imdecode(png, cv::IMREAD_GRAYSCALE);
    }
    stage.step();
  });
  stage.end(out.times);
  return out;
}

std::string storedDepth(const std::vector<DepthMap>& maps, const std::vector<StageTime>& times) {
  StoredDepth out;
  for (const DepthMap& map : maps) {
    std::vector<std::int32_t> runs = {0};
    std::vector<float> values;
    bool measured = false;
    for (int y = 0; y < map.depth_mm.rows; ++y)
      for (int x = 0; x < map.depth_mm.cols; ++x) {
        const float depth = map.depth_mm(y, x);
        if ((depth != 0) != measured) measured = !measured, runs.push_back(0);
        ++runs.back();
        if (!measured) continue;
        const cv::Vec3f& n = map.normal(y, x);
        values.insert(values.end(), {depth, n[0], n[1], n[2], map.cost(y, x)});
      }
    StoredDepthMap& to = *out.add_maps();
    to.set_view(map.view);
    *to.mutable_camera() = toProto("", map.camera);
    to.set_runs(rawBytes(runs));
    to.set_values(rawBytes(values));
  }
  for (const StageTime& time : times) *out.add_times() = time;
  return out.SerializeAsString();
}

std::optional<std::vector<DepthMap>> restoredDepth(const std::string& bytes,
                                                   std::vector<StageTime>& times) {
  StoredDepth stored;
  if (!stored.ParseFromString(bytes)) return std::nullopt;
  std::vector<DepthMap> maps;
  for (const StoredDepthMap& from : stored.maps()) {
    DepthMap& map = maps.emplace_back();
    map.view = from.view();
    map.camera = fromProto(from.camera());
    const cv::Size size(map.camera.model.width_px, map.camera.model.height_px);
    map.depth_mm = cv::Mat_<float>(size, 0.F);
    map.normal = cv::Mat_<cv::Vec3f>(size, cv::Vec3f(0, 0, 0));
    map.cost = cv::Mat_<float>(size, 0.F);
    const auto runs = valuesIn<std::int32_t>(from.runs());
    const auto values = valuesIn<float>(from.values());
    int pixel = 0;
    std::size_t at = 0;
    for (std::size_t run = 0; run < runs.size(); ++run)
      for (int k = 0; k < runs[run]; ++k, ++pixel) {
        if (run % 2 == 0) continue;
        if (pixel >= size.area() || at + 5 > values.size()) return std::nullopt;
        const int y = pixel / size.width, x = pixel % size.width;
        map.depth_mm(y, x) = values[at];
        map.normal(y, x) = {values[at + 1], values[at + 2], values[at + 3]};
        map.cost(y, x) = values[at + 4];
        at += 5;
      }
  }
  for (const StageTime& time : reused(stored.times())) times.push_back(time);
  return maps;
}

std::string storedMesh(const TriangleMesh& mesh, const std::vector<StageTime>& times) {
  StoredMesh out;
  out.set_vertices_mm(rawBytes(mesh.vertices_mm));
  out.set_triangles(rawBytes(mesh.triangles));
  out.set_sigma_mm(rawBytes(mesh.sigma_mm));
  out.set_guesswork(rawBytes(mesh.guesswork));
  for (const StageTime& time : times) *out.add_times() = time;
  return out.SerializeAsString();
}

std::optional<TriangleMesh> restoredMesh(const std::string& bytes, std::vector<StageTime>& times) {
  StoredMesh stored;
  if (!stored.ParseFromString(bytes)) return std::nullopt;
  TriangleMesh mesh;
  mesh.vertices_mm = valuesIn<Eigen::Vector3d>(stored.vertices_mm());
  mesh.triangles = valuesIn<Eigen::Vector3i>(stored.triangles());
  mesh.sigma_mm = valuesIn<float>(stored.sigma_mm());
  mesh.guesswork = valuesIn<std::uint8_t>(stored.guesswork());
  for (const StageTime& time : reused(stored.times())) times.push_back(time);
  return mesh;
}

}  // namespace holdshelf
