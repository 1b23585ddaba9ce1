// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <vector>

#include "capture/mat_bundle.h"

namespace holdshelf {

/// The focal length that one photo would have by itself.
struct PhotoFocal {
  double ratio = 1;  ///< Over the capture's focal length.
  double sigma = 0;  ///< Standard uncertainty of its logarithm from the photo's own residuals; 0:
                     ///< not to be told (no pose, or fewer than ten corners).
};

/// Fits each photo anew with a focal length of its own, square pixels and the picture's middle as
/// principal point; the mat's shape and radial distortion stay as adjusted. A zoom that was
/// changed, or another phone with the same picture size, shows as a ratio off one. In a common
/// adjustment it hides, for looking straight down a longer lens and a longer distance are much
/// alike.
/// @param sightings  All of them count, also those the bundle left out.
std::vector<PhotoFocal> focalOfEachPhoto(const MatBundle& bundle,
                                         const std::vector<CornerSighting>& sightings);

/// Photos whose focal length is not that of most: by more than 5 % and by more than five standard
/// uncertainties from the median of all (judgement: phones that refocus change it by up to 1 %, and
/// the middle of the picture is not quite the lens's).
std::vector<bool> zoomedPhotos(const std::vector<PhotoFocal>& focals);

}  // namespace holdshelf
