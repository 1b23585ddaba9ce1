// SPDX-License-Identifier: Apache-2.0
#include "tests/photobooth/capture_truth.h"

#include <google/protobuf/struct.pb.h>
#include <google/protobuf/util/json_util.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <sstream>
#include <stdexcept>

#include "mesh/whole_file.h"

namespace holdshelf {
namespace {

template <typename Message>
Message readJson(const std::filesystem::path& path) {
  std::ifstream in(path);
  std::stringstream text;
  text << in.rdbuf();
  Message message;
  google::protobuf::util::JsonParseOptions options;
  options.ignore_unknown_fields = true;
  if (!in || !google::protobuf::util::JsonStringToMessage(text.str(), &message, options).ok())
    throw std::runtime_error("Cannot read " + path.string() + ".");
  return message;
}

}  // namespace

std::string shapeInCapture(const std::filesystem::path& folder) {
  const auto truth = readJson<google::protobuf::Struct>(folder / "truth.json");
  const auto shape = truth.fields().find("shape");
  if (shape == truth.fields().end())
    throw std::runtime_error((folder / "truth.json").string() + " names no shape.");
  return shape->second.string_value();
}

std::vector<std::filesystem::path> photosIn(const std::filesystem::path& folder) {
  std::vector<std::filesystem::path> photos;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    const auto kind = entry.path().extension();
    if (kind == ".jpg" || kind == ".jpeg" || kind == ".png") photos.push_back(entry.path());
  }
  std::sort(photos.begin(), photos.end());
  return photos;
}

Eigen::Isometry3d truthFromReport(const CaptureReport& report) {
  Eigen::Isometry3d T = Eigen::Isometry3d::Identity();
  const Pose& pose = report.t_hold_mat();
  if (pose.rotation_size() != 9 || pose.translation_mm_size() != 3)
    throw std::runtime_error("The report has no T_hold_mat.");
  const double turn = std::atan2(pose.rotation(3), pose.rotation(0));
  T.linear() = Eigen::AngleAxisd(turn, Eigen::Vector3d::UnitZ()).toRotationMatrix();
  T.translation() = Eigen::Vector3d(pose.translation_mm(0), pose.translation_mm(1), 0);
  return T.inverse();
}

Eigen::Isometry3d truthFromReport(const std::filesystem::path& report) {
  if (report.empty()) return Eigen::Isometry3d::Identity();
  return truthFromReport(readJson<CaptureReport>(report));
}

CaptureReport readReport(const std::filesystem::path& file) {
  return readJson<CaptureReport>(file);
}

double pixelSize_mm(const CaptureReport& report) {
  std::vector<double> sizes;
  for (const PhotoCamera& camera : report.cameras())
    sizes.push_back(camera.t_camera_hold().translation_mm(2) / camera.intrinsics().fx_px());
  if (sizes.empty()) throw std::runtime_error("The report lists no cameras.");
  const auto middle = sizes.begin() + static_cast<std::ptrdiff_t>((sizes.size() - 1) / 2);
  std::nth_element(sizes.begin(), middle, sizes.end());
  return *middle;
}

double precisionLimit_mm(const CaptureReport& report) {
  return 0.6 * pixelSize_mm(report) * report.reprojection_rms_px() / std::sqrt(2.0);
}

void writeReport(const std::filesystem::path& file, const CaptureReport& report) {
  std::string json;
  if (!google::protobuf::util::MessageToJsonString(report, &json).ok())
    throw std::runtime_error("The report cannot be written as JSON.");
  writeWhole(file, json);
}

}  // namespace holdshelf
