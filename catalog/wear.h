// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "catalog/library.h"
#include "catalog/mounting.h"
#include "catalog/wear_grade.h"
#include "mesh/deviation.h"
#include "mesh/pen.h"
#include "mesh/progress.h"
#include "mesh/texture_cells.h"
#include "proto/wear.pb.h"

namespace holdshelf {

/// What has changed between two scans of one hold. The later mesh is laid on the baseline by the
/// parts that did not wear, measured again in the baseline's frame, and compared edge by edge.
/// @param mounting  In which the holding force is compared; without one, the baseline's best
///                  rotation on a vertical wall.
Wear compareScans(const TriangleMesh& baseline, const Shape& baseline_shape,
                  const TriangleMesh& later, const WearGrades& grades = {},
                  const Progress& progress = {},
                  const std::optional<Mounting>& mounting = std::nullopt);

/// A comparison with the surface it was made on.
struct ComparedScans {
  Wear wear;
  TriangleMesh baseline;  ///< Frame H.
  Deviation deviation;    ///< Of the baseline's vertices.
};

/// What the two scans show of the texture; may be null.
struct TexturePair {
  const TextureCells* baseline = nullptr;
  const TextureCells* later = nullptr;
};

/// The same as compareScans, keeping the deviation map; with both textures also the hint of polish.
ComparedScans compareInFull(const TriangleMesh& baseline, const Shape& baseline_shape,
                            const TriangleMesh& later, const WearGrades& grades = {},
                            const Progress& progress = {},
                            const std::optional<Mounting>& mounting = std::nullopt,
                            const TexturePair& textures = {});

/// Wear of one hold of the library: its first scan against its last.
/// @throws BadInput  There is no such hold, or it has fewer than two scans.
Wear wearOf(const Library& library, const std::string& id, const WearGrades& grades,
            const Progress& progress);

/// The same with the deviation map.
ComparedScans comparisonOf(const Library& library, const std::string& id, const WearGrades& grades,
                           const Progress& progress);

/// The first scan's surface and where the last one differs from it, for pictures.
struct WearMap {
  TriangleMesh baseline;
  Deviation deviation;
};
/// @throws BadInput  As wearOf. @throws Interrupted  `progress` said stop.
WearMap wearMapOf(const Library& library, const std::string& id, const Progress& progress = {});

/// The deviation map as a picture (mesh/deviation_plot.h), with the grade and its reason.
Plot wearPlot(const ComparedScans& compared);

/// All holds with two scans or more, the largest loss of holding force first, then the largest
/// growth of a lip. One with a mesh that is lost or damaged is left out and named.
WearList wearOfAll(const Library& library, const WearGrades& grades, const Progress& progress);

/// One line; a second one where the texture gives a hint.
std::string wearText(const Wear& wear);

}  // namespace holdshelf
