// SPDX-License-Identifier: Apache-2.0
#include "tests/photobooth/capture_truth.h"

#include <google/protobuf/struct.pb.h>
#include <google/protobuf/util/json_util.h>

#include <fstream>
#include <sstream>
#include <stdexcept>

#include "proto/capture_report.pb.h"

namespace holdshelf {
namespace {

template <typename Message>
Message readJson(const std::filesystem::path& path) {
  std::ifstream in(path);
  std::stringstream text;
  text << in.rdbuf();
  Message message;
  if (!in || !google::protobuf::util::JsonStringToMessage(text.str(), &message).ok())
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

Eigen::Isometry3d truthFromReport(const std::filesystem::path& report_path) {
  Eigen::Isometry3d T = Eigen::Isometry3d::Identity();
  if (report_path.empty()) return T;
  const auto report = readJson<CaptureReport>(report_path);
  const Pose& pose = report.t_hold_mat();
  if (pose.rotation_size() != 9 || pose.translation_mm_size() != 3)
    throw std::runtime_error(report_path.string() + " has no T_hold_mat.");
  for (int i = 0; i < 9; ++i) T.linear()(i / 3, i % 3) = pose.rotation(i);
  for (int i = 0; i < 3; ++i) T.translation()[i] = pose.translation_mm(i);
  return T.inverse();
}

}  // namespace holdshelf
