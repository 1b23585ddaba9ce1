// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "proto/mat.pb.h"

namespace holdshelf {

/// A printed sheet of fiducial markers as it lies on the table: what is printed where, and how the
/// paper is bent. Frame M (mat): origin at the sheet's middle, +z up, mm.
class MatSheet {
 public:
  struct Options {
    std::string paper = "A4";  ///< A4, A3 or A2, long side along x.
    double marker_mm = 25;     ///< Side of a marker.
    double gap_mm = 6;         ///< Between markers.
    std::string dictionary = "DICT_4X4_250";
    int first_id = 0;
    double print_scale = 1;      ///< Length on paper over length in the file.
    double bend_mm = 0;          ///< Largest height of the paper over the table.
    double flat_radius_mm = 60;  ///< The paper lies flat up to here (a hold stands on it).
    std::uint32_t seed = 1;
  };
  /// @throws std::invalid_argument  Unknown paper or dictionary, or markers that do not fit.
  explicit MatSheet(const Options& options);

  /// The description that goes with the sheet: nominal, as if printed to scale and flat.
  const Mat& mat() const { return mat_; }

  /// Does the sheet cover the point, and what does it reflect there (0 to 1)?
  bool covers(double x_mm, double y_mm) const;
  float reflectance(double x_mm, double y_mm) const;
  /// Height of the paper over the table, at least 0.
  double height_mm(double x_mm, double y_mm) const;
  /// Where a marker's corner really is, with print scale and bend.
  Eigen::Vector3d cornerOnPaper_mm(int marker, int corner) const;

  double halfWidth_mm() const { return half_.x(); }
  double halfHeight_mm() const { return half_.y(); }

 private:
  Options options_;
  Mat mat_;
  Eigen::Vector2d half_;        ///< Of the paper.
  Eigen::Vector2d grid_start_;  ///< Lower left corner of the lower left marker, as printed.
  int columns_ = 0, rows_ = 0;
  int cells_ = 0;                                ///< Along a marker's side, with its border.
  std::vector<std::vector<std::uint8_t>> bits_;  ///< A marker: cells by cells, row 0 on top.
};

}  // namespace holdshelf
