// SPDX-License-Identifier: Apache-2.0
#include "catalog/wear_grade.h"

#include <algorithm>
#include <string>

#include "catalog/measured_text.h"

namespace holdshelf {
namespace {

/// The lip that surely grew most; nullptr: none did.
const LipChange* mostGrown(const Wear& wear) {
  const LipChange* most = nullptr;
  for (const LipChange& lip : wear.lips())
    if (lip.sure() &&
        (most == nullptr || lip.radius_growth_mm().value() > most->radius_growth_mm().value()))
      most = &lip;
  return most;
}

std::string gradeOf(const WearGrades& grades, const Wear& wear) {
  const double growth = surestGrowth_mm(wear);
  const bool chipped = std::any_of(wear.chunks().begin(), wear.chunks().end(), [&](const auto& c) {
    return c.volume_mm3().value() >= grades.chip_mm3 && c.deepest_mm() >= grades.chip_deep_mm;
  });
  std::string word = "none seen";
  if (growth >= grades.rounded_mm) word = "rounded";
  if (growth >= grades.worn_mm) word = "worn";
  if (growth >= grades.worn_out_mm) word = "worn out";
  if (chipped) word = word == "none seen" ? "chipped" : word + ", chipped";
  return word;
}

std::string reasonOf(const Wear& wear) {
  const LipChange* lip = mostGrown(wear);
  std::string reason;
  if (lip)
    reason = "lip radius " + measuredText(lip->radius_growth_mm(), "mm") + " larger, turned " +
             decimalText(lip->rotation_deg(), 0) + "°";
  if (!wear.chunks().empty())
    reason += (reason.empty() ? "" : "; ") + measuredText(wear.lost_mm3(), "mm³") + " gone in " +
              std::to_string(wear.chunks_size()) +
              (wear.chunks_size() == 1 ? " place, " : " places, ") +
              decimalText(wear.chunks(0).deepest_mm(), 1) + " mm at the deepest";
  if (wear.grade() == "none seen" && !reason.empty()) reason += ", too little to be called wear";
  if (std::any_of(wear.chunks().begin(), wear.chunks().end(),
                  [](const LostChunk& chunk) { return chunk.rubbed(); }))
    reason +=
        "; the texture is gone there too, and photos tell little of a smooth spot's shape: feel "
        "and look whether anything is missing";
  if (reason.empty())
    reason = "no change beyond the detection limit of " +
             decimalText(wear.detection_limit_mm(), 2) + " mm";
  return reason;
}

}  // namespace

double surestGrowth_mm(const Wear& wear) {
  const LipChange* lip = mostGrown(wear);
  return lip ? lip->radius_growth_mm().value() : 0;
}

void gradeWear(const WearGrades& grades, Wear& wear) {
  wear.set_grade(gradeOf(grades, wear));
  wear.set_reason(reasonOf(wear));
}

}  // namespace holdshelf
