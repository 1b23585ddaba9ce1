// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <cmath>
#include <memory>

#include "tests/photobooth/surface.h"

namespace holdshelf {

/// What a ray meets first.
struct SurfaceHit {
  int surface = -1;  ///< In the order added; -1: nothing.
  int triangle = 0;
  float u = 0, v = 0;  ///< Barycentrics of corners 1 and 2.
  float distance = INFINITY;
  Eigen::Vector3f face_normal{0, 0, 1};  ///< Unit.
};

/// Several surfaces made ready for rays (Embree 3). Rays in single precision and many a pixel,
/// which is why this is not mesh/ray_scene.h. Tracing from several threads is safe.
class SurfaceScene {
 public:
  SurfaceScene();
  ~SurfaceScene();
  SurfaceScene(const SurfaceScene&) = delete;
  SurfaceScene& operator=(const SurfaceScene&) = delete;

  void add(const Surface& surface);
  void commit();  ///< After the last add, before the first ray.

  SurfaceHit trace(const Eigen::Vector3f& from, const Eigen::Vector3f& direction, float far) const;
  /// Is anything in the way within `far` lengths of the direction?
  bool blocked(const Eigen::Vector3f& from, const Eigen::Vector3f& direction, float far) const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace holdshelf
