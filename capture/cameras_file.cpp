// SPDX-License-Identifier: Apache-2.0
#include "capture/cameras_file.h"

#include <Eigen/Dense>
#include <charconv>
#include <cmath>
#include <sstream>
#include <vector>

#include "mesh/bad_input.h"
#include "mesh/whole_file.h"

namespace holdshelf {
namespace {

constexpr size_t kPoseNumbers = 9 + 9 + 3;
using RowMajor = Eigen::Matrix<double, 3, 3, Eigen::RowMajor>;

std::vector<std::string> fieldsOf(std::string line) {
  line.erase(std::min(line.size(), line.find('#')));
  std::istringstream in(line);
  std::vector<std::string> fields;
  for (std::string field; in >> field;) fields.push_back(field);
  return fields;
}

double number(const std::string& text, const std::string& where) {
  double value = 0;
  const char* begin = text.data() + (text.starts_with('+') ? 1 : 0);
  const auto [end, error] = std::from_chars(begin, text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size() || !std::isfinite(value))
    throw BadInput(where + ": \"" + text.substr(0, 40) + "\" is not a finite number.");
  return value;
}

void setIntrinsics(CameraModel& model, const RowMajor& K, const std::string& where) {
  const double fx = K(0, 0), fy = K(1, 1);
  if (!(fx > 0) || !(fy > 0) || std::abs(K(1, 0)) > 1e-9 || std::abs(K(2, 0)) > 1e-9 ||
      std::abs(K(2, 1)) > 1e-9 || std::abs(K(2, 2) - 1) > 1e-9)
    throw BadInput(where +
                   ": the first nine numbers are no camera matrix (fx 0 cx, 0 fy cy, 0 0 1).");
  if (std::abs(K(0, 1)) > 1e-6 * fx)
    throw BadInput(where + ": the camera matrix has skew, which is not supported.");
  model.fx_px = fx, model.fy_px = fy, model.cx_px = K(0, 2), model.cy_px = K(1, 2);
}

/// The rotation nearest to R, which must be one to 1e-3 (files are rounded).
Eigen::Matrix3d nearestRotation(const RowMajor& R, const std::string& where) {
  if ((R * R.transpose() - Eigen::Matrix3d::Identity()).cwiseAbs().maxCoeff() > 1e-3 ||
      R.determinant() < 0)
    throw BadInput(where + ": numbers 10 to 18 are no rotation matrix.");
  const Eigen::JacobiSVD<Eigen::Matrix3d> svd(R, Eigen::ComputeFullU | Eigen::ComputeFullV);
  return svd.matrixU() * svd.matrixV().transpose();
}

PosedCamera cameraOf(const std::vector<std::string>& fields, double unit_mm,
                     const std::string& where) {
  const size_t extra = fields.size() < 1 + kPoseNumbers ? 99 : fields.size() - 1 - kPoseNumbers;
  if (extra != 0 && extra != 2 && extra != 4 && extra != 5)
    throw BadInput(where + ": " + std::to_string(fields.size() - 1) +
                   " numbers after the name; give 21 (K, R, t) and then 0, 2, 4 or 5 of "
                   "distortion.");
  std::vector<double> v;
  for (size_t i = 1; i < fields.size(); ++i) v.push_back(number(fields[i], where));
  PosedCamera camera;
  setIntrinsics(camera.model, Eigen::Map<const RowMajor>(&v[0]), where);
  camera.T_camera_hold.linear() = nearestRotation(Eigen::Map<const RowMajor>(&v[9]), where);
  camera.T_camera_hold.translation() = unit_mm * Eigen::Map<const Eigen::Vector3d>(&v[18]);
  v.resize(kPoseNumbers + 5, 0.0);
  camera.model.k1 = v[21], camera.model.k2 = v[22];
  camera.model.p1 = v[23], camera.model.p2 = v[24], camera.model.k3 = v[25];
  return camera;
}

}  // namespace

std::map<std::string, PosedCamera> parseCameras(const std::string& text, const std::string& file,
                                                double unit_mm) {
  if (!(unit_mm > 0) || !std::isfinite(unit_mm))
    throw BadInput("The cameras file's unit must be a positive number of millimetres.");
  std::map<std::string, PosedCamera> cameras;
  double count = -1;
  std::string announced;  // As it is written: it need not be a number of anything.
  std::istringstream in(text);
  std::string line;
  for (int at = 1; std::getline(in, line); ++at) {
    const auto fields = fieldsOf(line);
    if (fields.empty()) continue;
    const std::string where = file + " line " + std::to_string(at);
    if (fields.size() == 1 && cameras.empty() && count < 0) {
      count = number(fields[0], where);
      announced = fields[0].substr(0, 20);
      continue;
    }
    if (!cameras.emplace(fields[0], cameraOf(fields, unit_mm, where)).second)
      throw BadInput(where + ": " + fields[0] + " is listed twice; give each photo one line.");
  }
  if (cameras.empty()) throw BadInput(file + ": no cameras in it; give one line a photo.");
  if (count >= 0 && count != static_cast<double>(cameras.size()))
    throw BadInput(file + ": its first line announces " + announced + " cameras, but " +
                   std::to_string(cameras.size()) + " follow.");
  return cameras;
}

std::map<std::string, PosedCamera> readCameras(const std::filesystem::path& file, double unit_mm) {
  std::error_code error;
  if (!std::filesystem::is_regular_file(file, error))
    throw BadInput(file.string() + ": there is no such cameras file; check the name.");
  if (std::filesystem::file_size(file, error) > 50'000'000)
    throw BadInput(file.string() + ": too large for a cameras file.");
  return parseCameras(readFile(file), file.string(), unit_mm);
}

}  // namespace holdshelf
