// SPDX-License-Identifier: Apache-2.0
#pragma once
#include "capture/calibrate.h"
#include "mesh/triangle_mesh.h"
#include "proto/capture_report.pb.h"

namespace holdshelf {

/// What a capture and the mesh made of it say to people: the photos with their verdicts and where
/// they were taken from (seen from the vertices' middle), scale, mat and paper; the median
/// uncertainty of what was measured, the share of the area that is guesswork (the back on the wall
/// counts for neither); warnings, times, and what to reshoot.
///
/// @param mesh     Frame H, with sigma and guesswork; the views of the capture are posed in it.
/// @param on_wall  The hold stood on a mat, so that its back lies on the wall and photos all round
///                 can be asked for.
CaptureReport reportOf(const CalibratedCapture& capture, const TriangleMesh& mesh, bool on_wall);

}  // namespace holdshelf
