// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <cstddef>
#include <functional>
#include <optional>
#include <vector>

#include "capture/corner_sighting.h"
#include "capture/mat_bundle.h"
#include "capture/photo_checks.h"
#include "proto/mat.pb.h"

namespace holdshelf {

/// Photos that one camera, poses and the mat's bend were adjusted to.
struct AdjustedPhotos {
  std::vector<std::size_t> index;         ///< Of the set: the photo of each pose.
  std::vector<CornerSighting> sightings;  ///< What was adjusted; `photo` counts the poses.
  MatBundle bundle;
};

/// Adjusts one camera and all poses to the photos (mat_bundle.h) and refuses in the set those that
/// do not go with the others: first those through another lens or zoom, then those whose corners do
/// not fit where the others put the mat. What is left is found once more in the pictures with what
/// is known by then, the lens and where half hidden markers must be, and adjusted again.
///
/// @param photos     With the mat's markers found in every photo that is used.
/// @param layout_mm  The mat's corners as printed, four a marker.
/// @param needed     Photos.
/// @param step       Called after each of three parts of the work.
/// @throws BadInput  Too few photos are left, or their corners form no mat.
AdjustedPhotos adjustPhotos(PhotoSet& photos, const Mat& mat,
                            const std::vector<Eigen::Vector2d>& layout_mm, int needed,
                            const std::function<void()>& step);

/// @throws BadInput  The markers lie otherwise than the mat file says: more than 0.04 of a marker's
///                   side off. Paper shrinks unevenly by 0.2 mm, curls by a little more; judgement,
///                   no source.
void requireLayout(const MatBundle& bundle, const std::vector<Eigen::Vector2d>& layout_mm);

}  // namespace holdshelf
