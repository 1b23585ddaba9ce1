// SPDX-License-Identifier: Apache-2.0
#include "catalog/grip_thresholds.h"

#include <cmath>
#include <cstdio>
#include <cstdlib>

#include "catalog/shown_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

using T = GripThresholds;

constexpr ThresholdRow kRows[] = {
    {"skin_friction", &T::skin_friction, "",
     "slip limit of a finger on textured hold plastic; 0 force beyond it",
     "judgement inside 0.5-0.9: rock 0.64-0.74, chalked 0.76-0.90 (Amca et al., Sports Biomech "
     "2012), used on rubber 0.84 (Fuss et al., Front Psychol 2020)"},
    {"skin_friction_sigma", &T::skin_friction_sigma, "", "its standard uncertainty between people",
     "judgement: a quarter of the band 0.5-0.9"},
    {"contact_end_slope_deg", &T::contact_end_slope_deg, "deg",
     "a pad rests on a rounding as far as it slopes by this", "judgement; loses 0.2929 r of depth"},
    {"contact_exponent", &T::contact_exponent, "",
     "k in force = ceiling (1 - exp(-(contact / (share * distal phalanx))^k))",
     "judgement: small edges are limited by the pulp (Bourne et al., J Appl Biomech 2011)"},
    {"open_hand_contact", &T::open_hand_contact, "of distal phalanx", "share for the open hand",
     "judgement, so that 10 to 40 mm stay in 350.8-575.7 N (Amca et al., J Sports Sci 2012)"},
    {"half_crimp_contact", &T::half_crimp_contact, "of distal phalanx", "share for the half crimp",
     "judgement, same range"},
    {"full_crimp_contact", &T::full_crimp_contact, "of distal phalanx", "share for the full crimp",
     "judgement, same range"},
    {"open_hand_ceiling", &T::open_hand_ceiling, "of a jug", "open hand on a deep flat edge",
     "575.7 N (Amca et al., 2012) over jug_newton"},
    {"half_crimp_ceiling", &T::half_crimp_ceiling, "of a jug", "half crimp on a deep flat edge",
     "judgement: slightly below the open hand at 23 mm (Current Issues in Sport Science 2025;10)"},
    {"full_crimp_ceiling", &T::full_crimp_ceiling, "of a jug", "full crimp on a deep flat edge",
     "judgement: no advantage at 23 mm, same study"},
    {"pulp_limit_mm", &T::pulp_limit_mm, "mm", "below this contact the forecast is low confidence",
     "Bourne et al., 2011: 2.8 and 4.3 mm do not follow 12.5 mm"},
    {"finger_packing", &T::finger_packing, "", "room of fingers side by side over their breadths",
     "judgement: pads give way sideways"},
    {"sharp_radius_mm", &T::sharp_radius_mm, "mm", "lips below this radius hurt and are flagged",
     "judgement"},
    {"wrap_incut_from_deg", &T::wrap_incut_from_deg, "deg",
     "effective incut at which fingers begin to hook",
     "judgement: flat edges stay in 350.8-575.7 N (Amca et al., 2012)"},
    {"wrap_incut_to_deg", &T::wrap_incut_to_deg, "deg", "effective incut at which they hook fully",
     "judgement"},
    {"wrap_contact_from", &T::wrap_contact_from, "of distal phalanx",
     "contact at which more than the pad begins to carry", "judgement"},
    {"wrap_contact_to", &T::wrap_contact_to, "of distal phalanx",
     "contact at which two phalanges carry", "judgement"},
    {"bar_sweep_deg", &T::bar_sweep_deg, "deg", "a lip arc of this sweep is a bar", "judgement"},
    {"bar_full_mm", &T::bar_full_mm, "mm", "diameter up to which a bar is held fully",
     "Young et al., Human Factors 2012: 22-32 mm best"},
    {"bar_loss_per_mm", &T::bar_loss_per_mm, "/mm", "loss a millimetre of diameter beyond that",
     "same: 51 mm is 8-13 % weaker, 10.5 % over 19 mm"},
    {"hand_room_mm", &T::hand_room_mm, "mm", "free height over a ledge for the whole hand",
     "DGUV Information 201-015 sec. 3.3: 35 mm"},
    {"finger_room_mm", &T::finger_room_mm, "mm", "free height for a finger", "judgement"},
    {"jug_newton", &T::jug_newton, "N", "one hand on the reference jug, a horizontal bar",
     "Young et al., Human Factors 2009: 668 +/- 40 N"},
    {"pinch_one_newton", &T::pinch_one_newton, "N", "thumb against one finger",
     "Stegink Jansen et al., J Hand Ther 2003, men, tip pinch 68.8 N"},
    {"pinch_two_newton", &T::pinch_two_newton, "N", "thumb against two fingers",
     "same, three-jaw pinch 91.9 N"},
    {"pinch_more_newton", &T::pinch_more_newton, "N", "each further finger",
     "judgement: the same step on"},
    {"pinch_narrow_share", &T::pinch_narrow_share, "", "pinch force at the smallest width",
     "1/1.4: Shivers et al., Human Factors 2002, +40 % at the widest"},
    {"pinch_best_from_mm", &T::pinch_best_from_mm, "mm", "width from which a pinch is strongest",
     "from memory, orientation only: Dempsey & Ayoub 1996, about 50 mm"},
    {"pinch_best_to_mm", &T::pinch_best_to_mm, "mm", "width up to which it stays so", "judgement"},
    {"pinch_wide_mm", &T::pinch_wide_mm, "mm", "width beyond which it falls to nothing at the span",
     "from memory, orientation only: Imrhan & Rahman 1995, about 90 mm"},
    {"pinch_wide_share", &T::pinch_wide_share, "", "pinch force at that width", "judgement"},
    {"pinch_pull_deg", &T::pinch_pull_deg, "deg",
     "least angle between pull and closing fingers for a pinch", "judgement"},
    {"rubber_friction", &T::rubber_friction, "", "slip limit of shoe rubber on hold plastic",
     "judgement inside 0.7-1.15: 1.14 on hold plastic, best of ten (European Rubber Journal)"},
    {"rubber_friction_sigma", &T::rubber_friction_sigma, "", "its standard uncertainty",
     "judgement: a quarter of the band"},
    {"toe_contact_mm", &T::toe_contact_mm, "mm", "d in toe force = 1 - exp(-contact/d)",
     "judgement"},
    {"toe_width_mm", &T::toe_width_mm, "mm", "width under which a toe is not fully supported",
     "judgement"},
    {"toe_longest_mm", &T::toe_longest_mm, "mm", "longest contact of a shoe's front", "judgement"},
    {"toe_fraction", &T::toe_fraction, "of a deep edge", "serves a toe from here on", "judgement"},
    {"min_hand_fraction", &T::min_hand_fraction, "of a jug",
     "least hold that gets a hand word, some 100 N", "judgement"},
    {"other_word_share", &T::other_word_share, "of the strongest",
     "least hold of a second word at the same rotation; pockets are named without it", "judgement"},
    {"jug_fraction", &T::jug_fraction, "of a jug", "least hold of a jug", "judgement"},
    {"jug_incut_deg", &T::jug_incut_deg, "deg", "least effective incut of a jug that is no bar",
     "judgement"},
    {"jug_fingers", &T::jug_fingers, "", "fingers that a jug takes at least", "judgement"},
    {"jug_contact_mm", &T::jug_contact_mm, "mm", "contact of a jug at least, unless it is a bar",
     "judgement: more than the distal phalanx, which 20-25 mm support (inference)"},
    {"crimp_contact_mm", &T::crimp_contact_mm, "mm", "contact below which an edge is a crimp",
     "judgement: less than the distal phalanx, which 20-25 mm support (inference)"},
    {"sloper_slope_deg", &T::sloper_slope_deg, "deg", "contact sloping by this is a sloper",
     "judgement; 22 and 34 deg are the limits of Fuss et al., Sports Technology 2013"},
    {"volume_extent_mm", &T::volume_extent_mm, "mm", "longest extent of a volume or feature",
     "judgement"},
    {"too_grabbable", &T::too_grabbable, "of a jug", "more than this is too much for a foothold",
     "judgement"},
    {"hand_pull_fan_deg", &T::hand_pull_fan_deg, "deg",
     "pulls to either side of straight down that a hand tries on a foothold",
     "judgement: side pulls counted, underclings of a low foothold not"},
    {"platform_slope_deg", &T::platform_slope_deg, "deg", "steepest slope to press down on",
     "judgement"},
    {"platform_palm_mm", &T::platform_palm_mm, "mm", "depth that takes a palm fully", "judgement"},
    {"platform_heel_mm", &T::platform_heel_mm, "mm", "depth that takes a heel fully", "judgement"},
    {"platform_low", &T::platform_low, "", "below this a platform is called low", "judgement"},
    {"platform_high", &T::platform_high, "", "above this it is called high", "judgement"},
    {"wrist_bend_deg", &T::wrist_bend_deg, "deg", "bend of the wrist still borne under load",
     "judgement"},
    {"forearm_reach_mm", &T::forearm_reach_mm, "mm", "length below the lip looked at", "judgement"},
    {"compression_squeeze", &T::compression_squeeze, "of body weight",
     "force of one arm against the other", "judgement"},
};

static_assert(sizeof(kRows) / sizeof(kRows[0]) == sizeof(GripThresholds) / sizeof(double),
              "every threshold has a row");

}  // namespace

std::span<const ThresholdRow> thresholdTable() { return kRows; }

std::string printThresholds(const GripThresholds& thresholds) {
  std::string out = "| name | value | unit | meaning | source |\n|---|---|---|---|---|\n";
  for (const ThresholdRow& row : kRows) {
    char value[32];
    std::snprintf(value, sizeof value, "%g", thresholds.*row.value);
    for (std::string_view cell :
         {row.name, std::string_view(value), row.unit, row.meaning, row.source})
      out.append("| ").append(cell).append(" ");
    out += "|\n";
  }
  return out;
}

void setThreshold(GripThresholds& thresholds, const std::string& assignment) {
  const auto equals = assignment.find('=');
  const std::string name = assignment.substr(0, equals);
  for (const ThresholdRow& row : kRows) {
    if (row.name != name || equals == std::string::npos) continue;
    const std::string text = assignment.substr(equals + 1);
    char* end = nullptr;
    const double value = std::strtod(text.c_str(), &end);
    if (text.empty() || *end != '\0' || !std::isfinite(value))
      throw BadInput("The threshold " + name + " needs a number, not \"" + givenStart(text, 40) +
                     "\".");
    thresholds.*row.value = value;
    return;
  }
  throw BadInput("There is no grip threshold in \"" + givenStart(assignment, 60) +
                 "\"; write it as name=value with a name of the table in catalog/grips.md.");
}

}  // namespace holdshelf
