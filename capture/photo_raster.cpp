// SPDX-License-Identifier: Apache-2.0
#include "capture/photo_raster.h"

namespace holdshelf {

RasterCamera rasterCamera(const PosedCamera& camera) {
  const cv::Size size(camera.model.width_px, camera.model.height_px);
  return rasterCamera(camera, cv::Rect2d(0, 0, size.width, size.height), 1, size);
}

RasterCamera rasterCamera(const PosedCamera& camera, const cv::Rect2d& part, double scale,
                          cv::Size size) {
  const CameraModel& m = camera.model;
  RasterCamera r;
  r.width_px = size.width;
  r.height_px = size.height;
  r.fx = m.fx_px * scale;
  r.fy = m.fy_px * scale;
  r.cx = (m.cx_px + 0.5 - part.x) * scale - 0.5;
  r.cy = (m.cy_px + 0.5 - part.y) * scale - 0.5;
  r.T_camera_mesh = camera.T_camera_hold;
  return r;
}

cv::Mat drawnMask(const Raster& raster) {
  cv::Mat mask(raster.height_px, raster.width_px, CV_8UC1, cv::Scalar(0));
  for (std::size_t i = 0; i < raster.triangle.size(); ++i)
    if (raster.covered(i)) mask.data[i] = 255;
  return mask;
}

}  // namespace holdshelf
