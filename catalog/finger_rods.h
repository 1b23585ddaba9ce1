// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <span>
#include <string>

namespace holdshelf {

/// One step into an opening: its narrow width at a depth.
struct OpeningStep {
  double depth_mm = 0;
  double width_mm = 0;
};

/// Whether an opening passes the two finger rods of playground equipment, 8 and 25 mm (EN 1176-1 as
/// quoted in public guides): where the 8 mm rod enters, the 25 mm rod must enter too, and the 8 mm
/// rod must not lock further in. A rod enters a width of its own diameter; that exact boundary is a
/// choice of this project.
///
/// For climbing holds this is an analogy and a hint only: EN 12572-3 does not apply to playgrounds,
/// its own finger-trap clause is not public, and every pocket for one or two fingers fails.
struct FingerRodResult {
  bool passes = true;
  std::string reason;  ///< Empty when it passes.
};

/// @param opening  From the mouth inwards; at least one step.
FingerRodResult checkFingerRods(std::span<const OpeningStep> opening);

}  // namespace holdshelf
