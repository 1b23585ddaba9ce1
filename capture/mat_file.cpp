// SPDX-License-Identifier: Apache-2.0
#include "capture/mat_file.h"

#include <google/protobuf/util/json_util.h>

#include <Eigen/Geometry>
#include <cmath>
#include <map>
#include <opencv2/aruco/dictionary.hpp>
#include <set>

#include "mesh/bad_input.h"
#include "mesh/whole_file.h"

namespace holdshelf {
namespace {

constexpr double kLargestMat_mm = 5000;

const std::map<std::string, int>& dictionaries() {
  static const std::map<std::string, int> names = {
      {"DICT_4X4_50", cv::aruco::DICT_4X4_50},
      {"DICT_4X4_100", cv::aruco::DICT_4X4_100},
      {"DICT_4X4_250", cv::aruco::DICT_4X4_250},
      {"DICT_4X4_1000", cv::aruco::DICT_4X4_1000},
      {"DICT_5X5_50", cv::aruco::DICT_5X5_50},
      {"DICT_5X5_100", cv::aruco::DICT_5X5_100},
      {"DICT_5X5_250", cv::aruco::DICT_5X5_250},
      {"DICT_5X5_1000", cv::aruco::DICT_5X5_1000},
      {"DICT_6X6_50", cv::aruco::DICT_6X6_50},
      {"DICT_6X6_100", cv::aruco::DICT_6X6_100},
      {"DICT_6X6_250", cv::aruco::DICT_6X6_250},
      {"DICT_6X6_1000", cv::aruco::DICT_6X6_1000},
      {"DICT_7X7_50", cv::aruco::DICT_7X7_50},
      {"DICT_7X7_100", cv::aruco::DICT_7X7_100},
      {"DICT_7X7_250", cv::aruco::DICT_7X7_250},
      {"DICT_7X7_1000", cv::aruco::DICT_7X7_1000},
      {"DICT_ARUCO_ORIGINAL", cv::aruco::DICT_ARUCO_ORIGINAL},
      {"DICT_APRILTAG_16h5", cv::aruco::DICT_APRILTAG_16h5},
      {"DICT_APRILTAG_25h9", cv::aruco::DICT_APRILTAG_25h9},
      {"DICT_APRILTAG_36h10", cv::aruco::DICT_APRILTAG_36h10},
      {"DICT_APRILTAG_36h11", cv::aruco::DICT_APRILTAG_36h11},
  };
  return names;
}

using Quad = std::array<Eigen::Vector2d, 4>;

Quad quadOf(const Marker& marker) {
  Quad quad;
  for (int c = 0; c < 4; ++c)
    quad[static_cast<size_t>(c)] = {marker.corners(c).x(), marker.corners(c).y()};
  return quad;
}

double cross(const Eigen::Vector2d& a, const Eigen::Vector2d& b) {
  return a.x() * b.y() - a.y() * b.x();
}

/// Refuses a marker whose corners are not a near-square, clockwise quadrilateral.
void checkShape(const Quad& quad, const std::string& which) {
  double shortest = 1e300, longest = 0;
  int clockwise = 0;
  for (size_t c = 0; c < 4; ++c) {
    if (!quad[c].allFinite()) throw BadInput(which + " has a corner that is not a finite number.");
    const Eigen::Vector2d side = quad[(c + 1) % 4] - quad[c];
    const Eigen::Vector2d next = quad[(c + 2) % 4] - quad[(c + 1) % 4];
    shortest = std::min(shortest, side.norm());
    longest = std::max(longest, side.norm());
    // The sine of the turn, so that the test does not depend on the size.
    const double turn = cross(side, next) / (side.norm() * next.norm());
    if (turn < -0.2) ++clockwise;
    if (turn > 0.2) --clockwise;
  }
  if (shortest < 2 || longest > 2000)
    throw BadInput(which + " has a side outside 2 to 2000 mm; give the corners in millimetres.");
  if (clockwise == -4)
    throw BadInput(which +
                   " has its corners counter-clockwise; list them clockwise seen from "
                   "above, from the marker's top left.");
  if (clockwise != 4 || longest > 3 * shortest)
    throw BadInput(which +
                   " is no square: its four corners must go round a convex, nearly square "
                   "shape.");
}

/// True when a line along a side of either separates the two convex clockwise shapes.
bool disjoint(const Quad& a, const Quad& b) {
  const auto separates = [](const Quad& p, const Quad& q) {
    for (size_t c = 0; c < 4; ++c) {
      const Eigen::Vector2d side = p[(c + 1) % 4] - p[c];
      bool outside = true;
      for (const auto& corner : q) outside = outside && cross(side, corner - p[c]) >= -1e-9;
      if (outside) return true;
    }
    return false;
  };
  return separates(a, b) || separates(b, a);
}

/// A picture is drawn of all that the markers span, at 3 pixels a millimetre: 5 m are 225 million.
/// The largest sheet that the project prints is 0.8 m long.
void checkSpan(const std::vector<Quad>& quads, const std::string& where) {
  Eigen::AlignedBox2d box;
  for (const Quad& quad : quads)
    for (const Eigen::Vector2d& corner : quad) box.extend(corner);
  if (!(box.sizes().maxCoeff() <= kLargestMat_mm))
    throw BadInput(where +
                   ": the markers lie farther apart than 5000 mm; give the corners in "
                   "millimetres, of one mat.");
}

std::string knownNames() {
  std::string out;
  for (const auto& [name, number] : dictionaries()) out += (out.empty() ? "" : ", ") + name;
  return out;
}

}  // namespace

int dictionaryNumber(const std::string& name) {
  const auto found = dictionaries().find(name);
  return found == dictionaries().end() ? -1 : found->second;
}

void checkMat(const Mat& mat, const std::string& where) {
  const int number = dictionaryNumber(mat.dictionary());
  if (number < 0)
    throw BadInput(where + ": unknown dictionary \"" + mat.dictionary().substr(0, 40) +
                   "\"; known are " + knownNames() + ".");
  if (mat.markers_size() == 0)
    throw BadInput(where + ": the mat has no markers; list each marker's id and corners.");
  const int ids = cv::aruco::getPredefinedDictionary(number)->bytesList.rows;
  std::set<int> seen;
  std::vector<Quad> quads;
  for (const Marker& marker : mat.markers()) {
    const std::string which = where + ": marker " + std::to_string(marker.id());
    if (marker.id() < 0 || marker.id() >= ids)
      throw BadInput(which + " is not in " + mat.dictionary() + ", which has ids 0 to " +
                     std::to_string(ids - 1) + ".");
    if (!seen.insert(marker.id()).second)
      throw BadInput(which + " is listed twice; each id may stand on a mat once.");
    if (marker.corners_size() != 4)
      throw BadInput(which + " has " + std::to_string(marker.corners_size()) +
                     " corners; give four.");
    const Quad quad = quadOf(marker);
    checkShape(quad, which);
    for (size_t other = 0; other < quads.size(); ++other)
      if (!disjoint(quad, quads[other]))
        throw BadInput(which + " overlaps marker " +
                       std::to_string(mat.markers(static_cast<int>(other)).id()) +
                       "; correct their corners.");
    quads.push_back(quad);
  }
  checkSpan(quads, where);
  const auto badSheet = [](double mm) { return !(mm >= 0 && mm <= kLargestMat_mm); };
  if (badSheet(mat.paper_width_mm()) || badSheet(mat.paper_height_mm()))
    throw BadInput(where + ": the paper size must be 0 (unknown) to 5000 mm.");
}

Mat parseMat(const std::string& json, const std::string& where) {
  Mat mat;
  const auto status = google::protobuf::util::JsonStringToMessage(json, &mat);
  if (!status.ok())
    throw BadInput(where + ": not a mat description in JSON (" + std::string(status.message()) +
                   ").");
  checkMat(mat, where);
  return mat;
}

Mat readMat(const std::filesystem::path& file) {
  std::error_code error;
  if (!std::filesystem::is_regular_file(file, error))
    throw BadInput(file.string() + ": there is no such mat file; check the name.");
  if (std::filesystem::file_size(file, error) > 10'000'000)
    throw BadInput(file.string() + ": too large for a mat description.");
  return parseMat(readFile(file), file.string());
}

std::vector<Eigen::Vector2d> matCorners_M_mm(const Mat& mat, double scale) {
  std::vector<Eigen::Vector2d> out;
  for (const Marker& marker : mat.markers())
    for (const auto& corner : quadOf(marker)) out.push_back(scale * corner);
  return out;
}

}  // namespace holdshelf
