// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>
#include <vector>

#include "capture/silhouette.h"
#include "capture/view.h"
#include "mesh/progress.h"

namespace holdshelf {

/// Whether the hold stood still on the mat while it was photographed.
struct HoldShift {
  /// Mean share of an outline that lies outside of the hull of the other half of the photos: 0 for
  /// a hold that stood still, about the push over the hold's width for one that was pushed.
  double disagreement = 0;
  /// Where the push lies, as the first photo after it; 0: still, or not to be told.
  std::size_t first_after = 0;
  /// The same as `disagreement`, within the two groups that the push makes: small where it explains
  /// what is wrong.
  double left_over = 0;

  /// More than still holds show. Found by experiment (tests/bench/README.md), no source.
  bool moved() const { return disagreement > 0.012; }
  /// One push explains it: each side agrees with itself.
  bool explained() const { return first_after > 0 && left_over < 0.25 * disagreement; }
};

/// Looks for a push of the hold on its mat, or of the mat under it, between two photos. The hull of
/// any part of the photos holds the hold whole, so outlines that stick out of the hull of other
/// photos are not of a hold that stood still. Halves are outlined apart, at low resolution; only
/// where they disagree are quarters outlined too and places of the push tried: at the right one
/// each side agrees with itself. Pushes of less than about three hundredths of the hold's width
/// stay unseen.
///
/// @param views  In the order in which they were taken, frame H; masks are not read.
/// @param input  As for findSilhouettes.
/// @return  Still, for fewer than eight views or where a half shows no hold to speak of.
/// @throws Interrupted  progress returned false.
HoldShift findHoldShift(const std::vector<View>& views, const SilhouetteInput& input,
                        const Progress& progress);

/// Mean share of the masks of views [from, to) that lies outside of the hull of [hull_from,
/// hull_to), beyond two pixels; 0 where there is no such hull. Views without a mask take no part.
double outsideOfHull(const std::vector<View>& views, std::size_t from, std::size_t to,
                     std::size_t hull_from, std::size_t hull_to);

}  // namespace holdshelf
