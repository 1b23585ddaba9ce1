// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <vector>

#include "mesh/mesh_topology.h"
#include "mesh/outside_line.h"
#include "mesh/triangle_mesh.h"

namespace holdshelf {

/// What a mesh's numbers can be trusted to: one vertex's noise and the spacing of the vertices.
struct MeshPrecision {
  double sigma_mm = 0;       ///< Typical standard uncertainty of a vertex along the normal.
  double roughness_mm = 0;   ///< The part of it that differs from vertex to vertex.
  double resolution_mm = 0;  ///< Typical distance of neighbouring vertices.
  bool from_photos = false;  ///< Neighbouring vertices err together.
  double wall_mm = 0;        ///< Standard uncertainty of the wall plane's height: all heights over
                             ///< the wall err by it together.

  /// How finely and how smoothly outside lines are to be sampled so that their direction is good to
  /// about two degrees.
  OutsideOptions outside() const;
  /// Noise of the direction under outside(), degrees.
  double facingSigma_deg() const;
  /// The part of it that makes one place differ from the next: that of the roughness and of half of
  /// what neighbours share.
  double turnSigma_deg() const;
  /// How many times larger a fit's uncertainty is than for as many independent points: neighbours
  /// on a section share vertices, and noise that does not differ from vertex to vertex (as that of
  /// surfaces from photos) is shared over about 1.5 mm.
  double sharing() const;
  /// The largest of some coordinates, below the luckiest vertex: of many at one height the farthest
  /// stands out by noise alone. What neighbours share does so too, but there are fewer of them: on
  /// surfaces from photos it is shared by the vertices of some 7 square millimetres.
  double farthest(std::vector<double> along_mm) const;
  /// How far flat triangles may leave a rounded surface or cut a corner off, as a standard
  /// uncertainty of a length.
  double ofResolution_mm() const { return 0.04 * resolution_mm; }
};

/// A mesh that marks guesswork comes from photos, whose wall plane is found from a sheet of paper.
/// How well, the mesh says (TriangleMesh::wall_sigma_mm); where it does not, 0.08 mm are taken,
/// about what eight rendered captures on sheets lifted by up to 0.5 mm came to (rms 0.055 mm).
///
/// @param given_sigma_mm  Used where the mesh has no sigma of its own; 0: estimated from roughness.
MeshPrecision precisionOf(const TriangleMesh& mesh, const MeshTopology& topology,
                          double given_sigma_mm);

}  // namespace holdshelf
