// SPDX-License-Identifier: Apache-2.0
#include "catalog/hold_change.h"

#include <utility>

#include "catalog/hold_record.h"

namespace holdshelf {

Hold changeHold(Library& library, const std::function<HoldChange()>& make) {
  Hold hold;
  std::string id;
  const std::vector<Event> stored = library.commitMade([&] {
    HoldChange change = make();
    id = change.hold;
    if (library.has(id)) hold = library.hold(id);
    return std::move(change.events);
  });
  for (const Event& event : stored)
    if (event.hold() == id) applyEvent(hold, event);
  return slimHold(std::move(hold));
}

}  // namespace holdshelf
