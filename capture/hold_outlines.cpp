// SPDX-License-Identifier: Apache-2.0
#include "capture/hold_outlines.h"

#include <cmath>
#include <limits>
#include <string>
#include <utility>
#include <vector>

#include "capture/hold_light.h"
#include "capture/hold_shift.h"
#include "capture/silhouette.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

void refusePhoto(CalibratedCapture& capture, const std::string& photo, const std::string& reason) {
  for (PhotoReport& report : capture.reports)
    if (report.photo() == photo) {
      report.set_verdict(PhotoReport::DISAGREES);
      report.set_reason(reason);
    }
}

/// Where the hold was pushed half way, keeps the photos of the larger side.
/// @throws BadInput  Neither side has enough.
void keepOneStanding(CalibratedCapture& capture, const SilhouetteInput& input,
                     const Progress& progress) {
  constexpr size_t kNeeded = 8;
  const HoldShift shift = findHoldShift(capture.views, input, progress);
  if (!shift.moved()) return;
  if (capture.mat_in_view.covered())
    throw BadInput(
        "Something covers one side of the mat (no marker is seen over " +
        std::to_string(std::lround(capture.mat_in_view.gap_deg)) +
        " degrees) and cannot be told from the hold beside it: clear the mat of all but the hold, "
        "put that in its middle, and shoot again.");
  if (!shift.explained()) {
    capture.warnings.emplace_back(
        "The hold's outlines do not fit each other in all photos; if it was pushed or turned on "
        "the mat while shooting, shoot again without touching it.");
    return;
  }
  const size_t n = capture.views.size(), split = shift.first_after;
  const std::string where = "The hold was moved on the mat, or the mat under it, between " +
                            capture.views[split - 1].photo + " and " + capture.views[split].photo;
  const bool keep_first = 2 * split >= n;
  const size_t kept = keep_first ? split : n - split;
  if (kept < kNeeded)
    throw BadInput(where + ", and neither side has the " + std::to_string(kNeeded) +
                   " photos that are needed: shoot again without touching hold or mat.");
  std::vector<View> left;
  for (size_t i = 0; i < n; ++i)
    if ((i < split) == keep_first)
      left.push_back(std::move(capture.views[i]));
    else
      refusePhoto(capture, capture.views[i].photo,
                  capture.views[i].photo + " shows the hold where it stood " +
                      (keep_first ? "after" : "before") + " it was moved on the mat.");
  capture.views = std::move(left);
  capture.warnings.push_back(where + ": only the " + std::to_string(kept) + " photos " +
                             (keep_first ? "before" : "after") +
                             " are used; shoot again without touching hold or mat where the rest "
                             "is needed.");
}

}  // namespace

void findOutlines(CalibratedCapture& capture, const OutlineScene& scene, const Progress& progress) {
  SilhouetteInput input;
  if (scene.mat) {
    input.mat = scene.mat;
    input.mat_points_H_mm = capture.mat_points_H_mm;
  } else {
    input.floor_z_mm = -std::numeric_limits<double>::infinity();
  }
  input.box_mm = scene.box_mm;
  if (scene.mat) keepOneStanding(capture, input, progress);
  const auto verdicts = findSilhouettes(capture.views, input, progress);
  std::vector<View> kept;
  for (size_t i = 0; i < verdicts.size(); ++i) {
    if (verdicts[i].used()) {
      kept.push_back(std::move(capture.views[i]));
      continue;
    }
    refusePhoto(capture, capture.views[i].photo,
                verdicts[i].reason +
                    " If a hand or another thing was in front of the hold, take this photo again.");
  }
  capture.views = std::move(kept);
  HoldLight light = holdLight(capture.views);
  // Without a mat the background may be dark and get into the outlines: that is no shadow.
  if (!scene.mat) light.shadowed = 0;
  for (const std::string& warning : lightWarnings(light)) capture.warnings.push_back(warning);
}

}  // namespace holdshelf
