// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <Eigen/Geometry>
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "capture/view.h"
#include "mesh/progress.h"
#include "proto/mat.pb.h"

namespace holdshelf {

/// What is known of the scene besides the photos. Lengths in mm, frame H.
struct SilhouetteInput {
  /// The mat the hold lies on and where each corner of its markers is (four a marker, the mat's
  /// order). Without a mat the background must be plain and differ from the hold.
  std::optional<Mat> mat;
  std::vector<Eigen::Vector3d> mat_points_H_mm;
  std::optional<Eigen::AlignedBox3d> box_mm;  ///< The hold lies inside, where known.
  double floor_z_mm = 0;                      ///< Nothing lies below; -infinity: no floor.
};

/// How far one photo's outline can be trusted.
struct SilhouetteVerdict {
  /// Overlap (intersection over union) of the outline with that of the hull of all photos, 0 to 1.
  double confidence = 0;
  std::string reason;  ///< Why the outline is not used, one sentence; empty when it is.
  bool used() const { return reason.empty(); }
};

/// Finds the hold in every photo and writes View::mask (255: hold, at the photo's full size). A
/// photo whose outline is at odds with the others' gets no mask (empty) and a verdict that says
/// so; do not carve with it.
///
/// The steps: pixels that look like the bare mat under the light of that photo tell where there is
/// nothing; a coarse carving of space collects what they tell in all photos; colours of the hold
/// (all photos together) and of each photo's surroundings are learnt from what is left; a minimal
/// cut finds the outline, and the hull of all outlines bounds and checks each of them, twice; last
/// the outline is moved to the edge at full resolution. Shadows on the mat count as mat.
/// Where in doubt the outline is too large: the dense stage corrects that, but not the reverse.
///
/// @return  One verdict a view.
/// @throws BadInput     The hold is not found in enough photos; says what to do.
/// @throws Interrupted  progress returned false.
/// After Boykov, Jolly, "Interactive graph cuts for optimal boundary and region segmentation",
/// ICCV 2001; Rother, Kolmogorov, Blake, "GrabCut", SIGGRAPH 2004; and Campbell, Vogiatzis,
/// Hernandez, Cipolla, "Automatic 3D object segmentation in multiple views using volumetric
/// graph-cuts", Image and Vision Computing 28, 2010.
std::vector<SilhouetteVerdict> findSilhouettes(std::vector<View>& views,
                                               const SilhouetteInput& input,
                                               const Progress& progress);

}  // namespace holdshelf
