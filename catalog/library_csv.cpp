// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_csv.h"

#include <algorithm>

#include "catalog/csv.h"
#include "catalog/hold_record.h"
#include "catalog/measured_text.h"
#include "catalog/sheet_line.h"
#include "mesh/plot.h"

namespace holdshelf {
namespace {

std::string measuredCells(const Hold& hold) {
  const Scan* scan = currentScan(hold);
  if (scan == nullptr) return ",,,,,,,,";
  const Shape& shape = scan->shape();
  const auto number = [](bool has, const Measured& m, int decimals) {
    return "," + (has ? decimalText(m.value(), decimals) : std::string());
  };
  std::string text = csvCell(scan->taken_at());
  text += number(shape.has_protrusion_mm(), shape.protrusion_mm(), 1);
  text += number(shape.has_footprint_width_mm(), shape.footprint_width_mm(), 1);
  text += number(shape.has_footprint_height_mm(), shape.footprint_height_mm(), 1);
  text += number(shape.has_volume_mm3(), shape.volume_mm3(), 0);
  const Grip* grip = bestGrip(shape);
  const Grip& best = grip ? *grip : Grip::default_instance();
  text += number(best.has_edge_depth_mm(), best.edge_depth_mm(), 1);
  text += number(best.has_lip_radius_mm(), best.lip_radius_mm(), 1);
  text += number(best.has_incut_deg(), best.incut_deg(), 0);
  std::string words;
  for (const GripWord& word : hold.words())
    if (words.find(word.word()) == std::string::npos)
      words += (words.empty() ? "" : " ") + word.word();
  return text + "," + csvCell(words);
}

}  // namespace

std::string libraryCsv(const Library& library) {
  std::string text = std::string(kSaidColumns) + "," + kMeasuredColumns + "\r\n";
  library.forEachHold([&](std::int64_t, const Hold& hold) {
    text += csvCell(hold.id());
    for (const SheetText& field : kSheetTexts) {
      if (std::string(field.name) == "colour")
        text += "," + std::to_string(std::max(1, hold.count()));
      text += "," + csvCell(sheetText(hold, field));
    }
    text += "," + statusWord(hold.status()) + "," + csvCell(hold.crate()) + "," +
            csvCell(hold.zone()) + "," + csvCell(hold.climb()) + ",," +
            std::to_string(library.store().countEventsOf(hold.id())) + "," + measuredCells(hold) +
            "\r\n";
  });
  return text;
}

}  // namespace holdshelf
