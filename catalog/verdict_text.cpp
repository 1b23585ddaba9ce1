// SPDX-License-Identifier: Apache-2.0
#include "catalog/verdict_text.h"

#include <cmath>
#include <cstdio>

#include "catalog/show_text.h"

namespace holdshelf {
namespace {

template <typename... Values>
std::string text(const char* format, Values... values) {
  char buffer[480];
  std::snprintf(buffer, sizeof buffer, format, values...);
  return buffer;
}

const char* answerWord(GripVerdict::Answer answer) {
  switch (answer) {
    case GripVerdict::YES:
      return "yes";
    case GripVerdict::NO:
      return "no";
    case GripVerdict::BORDERLINE:
      return "borderline";
    default:
      return "not known";
  }
}

std::string handText(const HandGrip& hand) {
  std::string out = "  hand      " + hand.word() + (hand.borderline() ? " (borderline)" : "") +
                    ": " + hand.reason() + "\n";
  if (!hand.technique().empty())
    out += text(
        "            %s, %.1f mm of contact; fingers %.2f x (contact %.2f, wrap %.2f of bar "
        "%.2f) x slope %.2f\n",
        hand.technique().c_str(), hand.contact_mm(), hand.finger_factor(), hand.contact_factor(),
        hand.wrap_factor(), hand.bar_factor(), hand.slope_factor());
  return out;
}

std::string lipText(const GripVerdict& v) {
  std::string out;
  if (v.lip_positive() != GripVerdict::ANSWER_UNSPECIFIED)
    out += text("  lip       positive for this pull: %s (%.0f° against gravity)\n",
                answerWord(v.lip_positive()), std::round(v.hand().incut_deg()) + 0.0);
  if (v.has_platform())
    out += v.platform().depth_mm() > 0
               ? text(
                     "  platform  %s: %.0f mm by %.0f mm to press down or stand up on; palm %.2f, "
                     "heel %.2f\n",
                     v.platform().level().c_str(), v.platform().depth_mm(), v.platform().width_mm(),
                     v.platform().palm(), v.platform().heel())
               : std::string("  platform  low: nothing flat enough to press down or stand up on\n");
  if (v.has_room()) {
    out += v.room().open_above() ? std::string("  room      open above")
                                 : text("  room      %.0f mm over the ledge%s", v.room().above_mm(),
                                        v.room().fits_hand() ? "" : ", fingers only");
    out += v.room().wrist_bend_deg() >= 0.5
               ? text("; what lies below bends the wrist by %.0f°%s\n", v.room().wrist_bend_deg(),
                      v.room().wrist_free() ? "" : ", too far to pull on")
               : std::string("; wrist and forearm hang free\n");
  }
  return out;
}

std::string wordsText(const GripVerdict& v) {
  if (v.words().empty()) return "";
  std::string out = text("At wall %+.0f°, pulled straight down, turned to:\n", v.wall_angle_deg());
  for (const GripWord& word : v.words())
    out += "  " + word.word() + (word.borderline() ? " (borderline) " : " ") +
           rotationText(word.from_deg(), word.to_deg()) + ": " + word.reason() + "\n";
  return out;
}

}  // namespace

std::string verdictText(const GripVerdict& v) {
  std::string out = text("At rotation %.0f°, wall %+.0f°, pull %.0f°:\n  ", v.rotation_deg(),
                         v.wall_angle_deg(), v.pull_deg()) +
                    v.sentence() + "\n" + handText(v.hand());
  for (const HandGrip& hand : v.hands())
    if (hand.word() != v.hand().word())
      out += "  also      " + hand.word() + (hand.borderline() ? " (borderline)" : "") + ": " +
             hand.reason() + "\n";
  out += text("  toe       serves: %s; ", answerWord(v.serves_toe())) + v.toe().reason() +
         text(", %.0f mm² stable\n", v.toe().stable_area_mm2());
  out += text("  foothold  too grabbable: %s\n", answerWord(v.too_grabbable()));
  out += lipText(v) + "  hands of  " + v.hand_model() + "\n" + wordsText(v);
  for (const std::string& caution : v.cautions()) out += caution + "\n";
  return out;
}

std::string feetText(const FootRanking& ranking, int limit, bool all) {
  std::string out = text("Footholds for a wall of %+.0f°, best first:\n", ranking.wall_angle_deg());
  int shown = 0, chosen = 0;
  for (const FootChoice& choice : ranking.choices()) {
    chosen += choice.chosen();
    if ((!choice.chosen() && !all) || (limit > 0 && shown >= limit)) continue;
    ++shown;
    const bool borderline = choice.too_grabbable() == GripVerdict::BORDERLINE ||
                            choice.serves_toe() == GripVerdict::BORDERLINE;
    out +=
        text("%-8s %-16s bin %-6s at %3.0f°  toe %.2f  hand %.2f%s\n    ", choice.hold_id().c_str(),
             choice.name().c_str(), choice.bin().c_str(), choice.rotation_deg(),
             choice.toe().fraction(), choice.strongest().fraction_of_jug(),
             !choice.chosen() ? "  not a foothold"
             : borderline     ? "  borderline"
                              : "") +
        choice.sentence() + "\n";
    if (!choice.chosen() && choice.serves_toe() != GripVerdict::NO)
      out += "    A toe gets: " + choice.toe().reason() + ".\n";
  }
  out += text("%d of %d holds serve as feet only.\n", chosen, ranking.choices_size());
  for (const std::string& caution : ranking.cautions()) out += caution + "\n";
  return out;
}

}  // namespace holdshelf
