// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <vector>

#include "capture/view.h"
#include "proto/capture_report.pb.h"
#include "proto/mat.pb.h"

namespace holdshelf {

/// A sheet as the standards cut it, portrait.
struct PaperSize {
  const char* name;
  double width_mm, height_mm;
};

/// The standard size that a sheet of this size is, printed up to 6 % off scale, or nullptr: the
/// proportions must agree to 1.2 % (ISO 216 grants 1.5 to 3 mm). A series sheets share their
/// proportions and are told apart by size. ISO 216 A1 to A5, ANSI/ASME Y14.1 A and B, US legal.
const PaperSize* nearestPaper(double width_mm, double height_mm);

/// Measures the sheet that the mat is printed on by its own four edges, where a bright sheet lies
/// fully in view on something darker: in each view, the first line beyond the outermost markers and
/// nearly parallel to them at which the light drops is fitted to sub-pixel (edge_line.h) and mapped
/// onto the mat at the height of its outer markers; the sides are medians over the views.
///
/// @param views       Undistorted.
/// @param mat         For the layout's sides and the paper size, where it states one.
/// @param points_H_mm The mat's corners as calibrated, frame of the views' poses.
/// @param mat_scale   Scale applied to the layout: the result is in nominal lengths.
/// @return  found = false where any of the four edges is seen in fewer than three views.
PaperCheck checkPaper(const std::vector<View>& views, const Mat& mat,
                      const std::vector<Eigen::Vector3d>& points_H_mm, double mat_scale);

/// True where the sheet's edges may set the scale: both directions ask for the same factor to 0.4
/// %, and it is more than 1 % off. Less is left to the ruler, since sheets are cut to 1.5 or 2 mm
/// (ISO 216), which is 0.7 % of A4.
bool trustsSheetScale(const PaperCheck& check);

}  // namespace holdshelf
