// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_lot.h"

#include <algorithm>

#include "catalog/hold_record.h"
#include "mesh/bad_input.h"

namespace holdshelf {

Hold splitLot(Library& library, const std::string& lot, int pieces, const std::string& bin) {
  const Hold hold = library.hold(lot);
  const int count = std::max(1, hold.count());
  if (pieces < 1 || pieces >= count)
    throw BadInput(lot + " has " + std::to_string(count) + (count == 1 ? " piece" : " pieces") +
                   ": take out at least one and fewer than all.");
  std::vector<Event> events(2);
  events[0].set_hold(lot);
  Edit& edit = *events[0].mutable_edited();
  edit.add_fields("count");
  edit.set_count(count - pieces);
  const std::string id = library.nextFreeId();
  events[1].set_hold(id);
  Hold& part = *events[1].mutable_created();
  part.set_name(hold.name());
  part.set_bin(bin.empty() ? hold.bin() : bin);
  part.set_set(hold.set());
  part.set_maker(hold.maker());
  part.set_texture(hold.texture());
  part.set_said_colour(hold.said_colour());
  part.set_count(pieces);
  part.set_split_from(lot);
  part.set_status(hold.status());
  part.set_crate(hold.crate());
  part.set_zone(hold.zone());
  part.set_climb(hold.climb());
  if (currentScan(hold) != nullptr) {
    Event& scanned = events.emplace_back();
    scanned.set_hold(id);
    *scanned.mutable_scanned() = library.currentFullScan(lot);
    *scanned.mutable_words() = hold.words();
  }
  library.commit(std::move(events), [&] {
    if (std::max(1, library.hold(lot).count()) != count)
      throw BadInput("Somebody has changed the count of " + lot + " just now: look again.");
  });
  return library.hold(id);
}

}  // namespace holdshelf
