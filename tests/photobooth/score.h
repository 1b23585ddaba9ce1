// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <cstdint>

#include "mesh/triangle_mesh.h"
#include "tests/shapes/holds.h"

namespace holdshelf {

struct ScoreOptions {
  double above_wall_mm = 1;  ///< Only surface farther than this from the wall plane counts,
  double bolt_gap_mm = 0.5;  ///< and farther than this from the bolt's recess.
  double near_mm = 0.5;      ///< What counts as covered.
  int samples = 60000;       ///< Spread evenly over the area, of the mesh and of the exact shape.
  std::uint32_t seed = 1;
};

/// How well a rebuilt surface meets the exact shape. Lengths in mm.
struct Score {
  double median_mm = 0;  ///< Distance of the rebuilt surface to the exact one, over its area:
  double p95_mm = 0;     ///< half of it is nearer than the median, 95 % nearer than this.
  double largest_mm = 0;
  double bias_mm = 0;  ///< Mean signed distance within 2 mm; positive: stands proud.
  double covered = 0;  ///< Share of the exact surface with rebuilt surface within near_mm.
  int samples = 0;     ///< Of the rebuilt surface that counted; 0: nothing to score.
};

/// Scores a mesh after moving it by T into the exact hold's frame.
Score scoreSurface(const TriangleMesh& mesh, const Eigen::Isometry3d& T_truth_mesh,
                   const ExactHold& hold, const ScoreOptions& options = {});

/// Rigid motion and scale that fit a mesh onto an exact shape.
struct TruthFit {
  Eigen::Isometry3d T_truth_mesh = Eigen::Isometry3d::Identity();
  double scale = 1;  ///< Exact length over the mesh's; 1 in a rigid fit.
};

/// Least squares of the signed distances of points on the mesh (Gauss-Newton from the start given,
/// Huber weights from 0.3 mm on, surface that counts only). With scale: x_truth = R (s x) + t.
TruthFit fitToTruth(const TriangleMesh& mesh, const Eigen::Isometry3d& start, const ExactHold& hold,
                    bool with_scale, const ScoreOptions& options = {});

/// A vertex' distance from the exact surface and the standard uncertainty that it states for it.
struct StatedError {
  double error_mm = 0;
  double stated_mm = 0;
};

/// Those of every vertex that counts, is no guesswork and states something, after moving the mesh.
std::vector<StatedError> statedErrors(const TriangleMesh& mesh,
                                      const Eigen::Isometry3d& T_truth_mesh, const ExactHold& hold,
                                      const ScoreOptions& options = {});

/// Share of the errors that are k times what was stated at the most; 0 of none.
double shareWithin(const std::vector<StatedError>& errors, double k);

/// Points spread evenly over a mesh's area, repeatable.
std::vector<Eigen::Vector3d> samplePoints(const TriangleMesh& mesh, int count, std::uint32_t seed);

}  // namespace holdshelf
