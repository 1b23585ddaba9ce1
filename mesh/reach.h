// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Core>
#include <cstdint>
#include <vector>

#include "mesh/triangle_mesh.h"

namespace holdshelf {

struct ReachOptions {
  double finger_mm = 16;  ///< Diameter of what must come in from outside.
  /// Wanted spacing of the grid; made larger until a hold fits into `largest_grid` points.
  double spacing_mm = 1;
  std::int64_t largest_grid = 3'000'000;
};

/// Where a finger can come: the ball of a finger's diameter is rolled in from in front of the wall
/// through the free space. Hold frame; the wall fills z < 0.
///
/// The ball's centre moves on a grid, so the answer is good to half the spacing: an opening a
/// spacing narrower than the finger is surely shut, one a spacing wider surely open.
class ReachField {
 public:
  /// @throws BadInput  The triangles' areas add up to far more than a hold's surface.
  ReachField(const TriangleMesh& mesh, const ReachOptions& options = {});

  /// How far a point stays from every ball that comes in, mm; about 0 where a finger touches. Up to
  /// 0.9 spacings too large.
  double gap_mm(const Eigen::Vector3d& point_mm) const;

  double spacing_mm() const { return spacing_; }

 private:
  std::size_t index(int x, int y, int z) const {
    return (static_cast<std::size_t>(z) * static_cast<std::size_t>(size_[1]) +
            static_cast<std::size_t>(y)) *
               static_cast<std::size_t>(size_[0]) +
           static_cast<std::size_t>(x);
  }
  void layOut(const TriangleMesh& mesh, const ReachOptions& options);
  std::vector<std::uint8_t> solidPoints(const TriangleMesh& mesh) const;
  void blockNear(const TriangleMesh& mesh, double radius_mm,
                 std::vector<std::uint8_t>& blocked) const;
  void flood(const std::vector<std::uint8_t>& blocked);
  void measureDistances();

  Eigen::Vector3d low_;
  Eigen::Vector3i size_;
  double spacing_ = 1, radius_ = 8;
  std::vector<float> distance_;  ///< From the nearest centre that the ball gets to, mm.
};

}  // namespace holdshelf
