// SPDX-License-Identifier: Apache-2.0
#include "tests/shapes/labelled_mountings.h"

namespace holdshelf {
namespace {

constexpr const char* kHooked =
    "Common practice: deeper than two finger joints, hooked behind the lip, room for four fingers.";
constexpr const char* kTurned =
    "Common practice: the same piece pulled in its own direction, wherever that points.";
constexpr const char* kBar =
    "A horizontal cylinder under the hand is the strongest handhold measured, 22 to 32 mm thick "
    "better than 51 mm (Young et al. 2009 and 2012); fingers go around it.";
constexpr const char* kFlat =
    "Square, deeper than the 20 to 25 mm that carry the whole last phalanx (inference from Amca et "
    "al. 2012), no lip to hook.";
constexpr const char* kBetweenLimits =
    "Slopes against gravity between the limits of 22 and 34 deg (Fuss et al. 2013).";
constexpr const char* kSteep =
    "Everything on it slopes by more than 42 deg, which no skin holds (atan 0.90, Amca 2012), and "
    "it is too wide for a pinch.";
constexpr const char* kThin =
    "Much less deep than the last phalanx; flat edges of such depth get crimped (common practice; "
    "depths of 2.8 to 12.5 mm in Bourne et al. 2011).";
constexpr const char* kHookedThin =
    "Common practice: incut crimps belong on slight overhangs, and stay crimps upright.";
constexpr const char* kRound =
    "A rounding with no flat part is held by friction (Fuss et al. 2013), too wide for a pinch.";
constexpr const char* kOpposed =
    "Opposed faces 45 to 90 mm apart as the validated pinch blocks (Soderqvist et al. 2024), ends "
    "too steep to pull on.";
constexpr const char* kLaid = "Laid across, its long square side is pulled on.";
constexpr const char* kHole =
    "Common practice: an opening for so many fingers and no more; the mound around it can be "
    "palmed "
    "or squeezed as well.";
constexpr const char* kMono =
    "Common practice: an opening for one finger. The mound can be palmed, and gives a toe a ramp.";
constexpr const char* kSmallFoot =
    "Common practice: takes a toe; no face of it takes more than the very tips of one finger.";
constexpr const char* kNub =
    "Common practice: what only a thumb and one finger can pinch is rarely "
    "used by hands; on a slab a shoe smears on its upper half.";
constexpr const char* kCrimped =
    "Common practice: a flat crimpable edge gets crimped, however small, where four fingers fit.";

std::vector<LabelledMounting> write() {
  const std::vector<std::string> mound{"sloper", "pinch"}, mono{"sloper", "pinch", "foot-only"};
  return {
      {"horn", 0, 0, 0, "jug", kHooked, {}},
      {"horn", 350, 0, 0, "jug", kHooked, {}},
      {"horn", 0, 45, 0, "sloper", kBetweenLimits, {}},  // 18 incut: slopes by 27.
      {"horn", 90, 0, 90, "jug", kTurned, {}},
      {"horn", 225, 0, -135, "jug", kTurned, {}},
      {"deep bucket", 0, 0, 0, "jug", kHooked, {}},
      {"deep bucket", 0, 20, 0, "jug", kHooked, {}},
      {"deep bucket", 0, 60, 0, "sloper", kBetweenLimits, {}},  // 35 incut: slopes by 25.
      {"handrail", 0, 0, 0, "jug", kBar, {}},
      {"handrail", 180, 0, 0, "jug", kBar, {}},
      {"handrail", 0, 30, 0, "jug", kBar, {}},
      {"shelf", 0, 0, 0, "edge", kFlat, {}},
      {"shelf", 5, 5, 0, "edge", kFlat, {}},
      {"shelf", 270, 0, -90, "edge", kTurned, {}},
      {"shelf", 0, 28, 0, "sloper", kBetweenLimits, {}},
      {"shelf", 0, 52, 0, "nothing", kSteep, {}},
      {"thin rail", 0, 0, 0, "crimp", kThin, {}},
      {"thin rail", 0, -12, 0, "crimp", kThin, {}},
      {"thin rail", 10, 0, 0, "crimp", kThin, {}},
      {"thin rail", 90, 0, 90, "crimp", kTurned, {}},
      {"thin rail", 0, 48, 0, "nothing", kSteep, {}},
      {"hooked crimp", 0, 0, 0, "crimp", kHookedThin, {}},
      {"hooked crimp", 0, 25, 0, "crimp", kHookedThin, {}},
      {"hooked crimp", 350, 15, 0, "crimp", kHookedThin, {}},
      {"slope 30", 0, 0, 0, "sloper", kBetweenLimits, {}},
      {"slope 30", 0, -5, 0, "sloper", kBetweenLimits, {}},
      {"slope 30", 10, 0, 0, "sloper", kBetweenLimits, {}},
      {"slope 30", 0, 15, 0, "nothing", kSteep, {}},
      {"slope 30", 0, 30, 0, "nothing", kSteep, {}},
      {"big ball", 0, 0, 0, "sloper", kRound, {}},
      {"big ball", 200, 0, 0, "sloper", kRound, {}},
      {"big ball", 90, -10, 0, "sloper", kRound, {}},
      {"big ball", 0, 55, 0, "nothing", kSteep, {}},
      {"fat pinch", 0, 0, 0, "pinch", kOpposed, {}},
      {"fat pinch", 180, 0, 0, "pinch", kOpposed, {}},
      {"fat pinch", 0, 10, 0, "pinch", kOpposed, {}},
      {"block pinch", 0, 0, 0, "pinch", kOpposed, {}},
      {"block pinch", 185, 0, 0, "pinch", kOpposed, {}},
      {"block pinch", 90, 0, 0, "edge", kLaid, {}},
      {"two deep", 0, 0, 0, "pocket", kHole, mound},
      {"two deep", 0, 8, 0, "pocket", kHole, mound},
      {"mono", 0, 0, 0, "pocket", kMono, mono},
      {"mono", 0, 5, 0, "pocket", kMono, mono},
      {"three shallow", 0, 0, 0, "pocket", kHole, mound},
      {"three shallow", 5, -10, 0, "pocket", kHole, mound},
      {"chip 4", 0, 0, 0, "foot-only", kSmallFoot, {}},
      {"chip 4", 0, -10, 0, "foot-only", kSmallFoot, {}},
      {"chip 4", 10, 5, 0, "foot-only", kSmallFoot, {}},
      {"nub", 0, -12, 0, "foot-only", kNub, {}},
      {"nub", 45, -12, 0, "foot-only", kNub, {}},
      {"jib rail", 0, 0, 0, "crimp", kCrimped, {}},
      {"jib rail", 0, 10, 0, "crimp", kCrimped, {}},
  };
}

}  // namespace

const std::vector<LabelledMounting>& judgedMountings() {
  static const std::vector<LabelledMounting> all = write();
  return all;
}

}  // namespace holdshelf
