// SPDX-License-Identifier: Apache-2.0
#include "catalog/search_entry.h"

#include "catalog/hold_record.h"
#include "catalog/shown_text.h"
#include "mesh/bad_input.h"

namespace holdshelf {

namespace {

SearchRow unpackedRow(const HoldRow& row) {
  try {
    return unpackSearchRow(row.search);
  } catch (const BadInput& damage) {
    throw BadInput(shownStart(std::string(row.id), 40) + ": " + damage.what());
  }
}

}  // namespace

SearchEntry searchEntry(const HoldRow& row) {
  SearchEntry entry{std::string(row.id),     std::string(row.name),
                    std::string(row.bin),    std::string(row.set),
                    std::string(row.colour), static_cast<Status>(row.status),
                    unpackedRow(row),        {},
                    std::string(row.site)};
  entry.most_use = mostUse(entry.row.mountings);
  return entry;
}

SearchEntry searchEntry(const Hold& hold) {
  SearchEntry entry{hold.id(),     hold.name(),     hold.bin(), hold.set(),    hold.colour().name(),
                    hold.status(), searchRow(hold), {},         standsAt(hold)};
  entry.most_use = mostUse(entry.row.mountings);
  return entry;
}

}  // namespace holdshelf
