// SPDX-License-Identifier: Apache-2.0
#include "catalog/hold_rows.h"

#include <utility>

#include "catalog/hold_record.h"
#include "catalog/library.h"
#include "catalog/search_entry.h"
#include "catalog/search_marks.h"
#include "catalog/search_row.h"

namespace holdshelf {

HoldRows::HoldRows(const std::map<std::string, Hold>& holds) {
  kept_.reserve(holds.size());  // The rows point into it.
  for (const auto& [id, full] : holds) {
    Hold slim = slimHold(full);
    std::string search = packSearchRow(slim), body = slim.SerializeAsString();
    const Kept& k = kept_.emplace_back(Kept{std::move(slim), std::move(search), std::move(body)});
    HoldRow row;
    row.id = k.hold.id();
    row.status = k.hold.status();
    row.name = k.hold.name();
    row.bin = k.hold.bin();
    row.set = k.hold.set();
    row.colour = k.hold.colour().name();
    row.site = standsAt(k.hold);
    row.search = k.search;
    row.body = k.body;
    if (const Scan* scan = currentScan(k.hold)) {
      row.protrusion_mm = scan->shape().protrusion_mm().value();
      row.width_mm = scan->shape().footprint_width_mm().value();
      row.height_mm = scan->shape().footprint_height_mm().value();
      row.volume_mm3 = scan->shape().volume_mm3().value();
    }
    row.marks = searchMarks(searchEntry(row));
    rows_.push_back(std::move(row));
  }
}

}  // namespace holdshelf
