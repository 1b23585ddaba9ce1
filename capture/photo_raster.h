// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <opencv2/core.hpp>

#include "capture/camera.h"
#include "mesh/raster.h"

namespace holdshelf {

/// A camera that draws meshes over an undistorted photo, pixel for pixel.
RasterCamera rasterCamera(const PosedCamera& camera);

/// The same over a part of the photo (px of the photo; its corner need not be whole), scaled.
/// Pixel centres lie at whole numbers in both, so the photo's corner stays the picture's corner.
/// @param size  Of the picture, px: the part's size times the scale, rounded as the caller likes.
RasterCamera rasterCamera(const PosedCamera& camera, const cv::Rect2d& part, double scale,
                          cv::Size size);

/// CV_8UC1, 255 where anything was drawn.
cv::Mat drawnMask(const Raster& raster);

}  // namespace holdshelf
