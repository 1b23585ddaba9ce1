// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <string>
#include <vector>

#include "mesh/triangle_mesh.h"
#include "tests/shapes/artefacts.h"

namespace holdshelf {

/// Sphere fitted to points by least squares of the distances to its surface.
struct BallFit {
  Eigen::Vector3d centre_mm{0, 0, 0};
  double radius_mm = 0;
  double form_mm = 0;   ///< Largest less smallest distance from the centre.
  double rejected = 0;  ///< Share of points left out.
  int points = 0;
};

struct FlatFit {
  double form_mm = 0;  ///< Largest less smallest signed distance to the plane.
  double rejected = 0;
  int points = 0;
};

/// What an acceptance test reads off one capture of an artefact, after VDI/VDE 2634 parts 2 and 3
/// as far as its definitions are known here (from memory, not from the text): probing error form PF
/// = BallFit::form_mm, probing error size PS = fitted less true diameter, sphere spacing error SD =
/// measured less true distance of two centres, flatness F = FlatFit::form_mm. At most 3 in 1000
/// points may be left out: exactly those farthest from the first fit are.
struct Acceptance {
  std::vector<BallFit> balls;      ///< In the artefact's order.
  std::vector<double> size_mm;     ///< PS of each.
  std::vector<double> spacing_mm;  ///< SD of each pair (0,1), (0,2) ... in order.
  std::vector<FlatFit> flats;      ///< In the artefact's order.
};

/// Points are spread evenly over the mesh's area. A ball's are those less than its radius and 3 mm
/// from its true centre and no more than 20 degrees below its equator (away from the stem), a
/// flat's those over or under the measured rectangle, less than 8 mm from it. What is missing from
/// a ball or gouged out of it so counts in full, as form.
/// @param T_truth_mesh  Brings the mesh near the artefact: good to about 1 mm.
Acceptance acceptArtefact(const TriangleMesh& mesh, const Eigen::Isometry3d& T_truth_mesh,
                          const Artefact& artefact);

/// Fits with the 3 in 1000 rule; points must be at least 10.
BallFit fitBall(std::vector<Eigen::Vector3d> points_mm);
FlatFit fitFlat(std::vector<Eigen::Vector3d> points_mm);

}  // namespace holdshelf
