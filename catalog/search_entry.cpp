// SPDX-License-Identifier: Apache-2.0
#include "catalog/search_entry.h"

#include "catalog/hold_record.h"

namespace holdshelf {

SearchEntry searchEntry(const HoldRow& row) {
  SearchEntry entry{std::string(row.id),         std::string(row.name),
                    std::string(row.bin),        std::string(row.set),
                    std::string(row.colour),     static_cast<Status>(row.status),
                    unpackSearchRow(row.search), {},
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
