// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_lot.h"

#include <algorithm>
#include <map>
#include <utility>

#include "catalog/hold_change.h"
#include "catalog/hold_record.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

std::string piecesText(int pieces) {
  return std::to_string(pieces) + (pieces == 1 ? " piece" : " pieces");
}

Event countEvent(const std::string& lot, int count) {
  Event event;
  event.set_hold(lot);
  event.mutable_edited()->add_fields("count");
  event.mutable_edited()->set_count(count);
  return event;
}

/// The lot's labels, owner and place, for so many of its pieces.
Hold partOf(const Hold& lot, int pieces, const std::string& bin) {
  Hold part;
  part.set_name(lot.name());
  part.set_bin(bin.empty() ? lot.bin() : bin);
  part.set_set(lot.set());
  part.set_maker(lot.maker());
  part.set_texture(lot.texture());
  part.set_said_colour(lot.said_colour());
  part.set_count(pieces);
  part.set_split_from(lot.split_from().empty() ? lot.id() : lot.split_from());
  part.set_status(lot.status());
  part.set_crate(lot.crate());
  part.set_zone(lot.zone());
  part.set_climb(lot.climb());
  part.set_site(lot.site());  // Taken out of a lot that was lent, they are lent with it.
  part.set_lent_to(lot.lent_to());
  return part;
}

/// Whether pieces are whose the lot is, and where it is; without sites all are everybody's.
bool isWithLot(const Hold& pieces, const Hold& lot) {
  return lot.site().empty() || (pieces.site() == lot.site() && standsAt(pieces) == standsAt(lot));
}

}  // namespace

SplitPieces splitEvents(const Library& library, const std::string& id, int pieces,
                        const std::string& bin, const std::set<std::string>& taken) {
  const Hold lot = library.hold(id);
  const int count = piecesOf(lot);
  if (pieces < 1 || pieces >= count)
    throw BadInput(id + " has " + piecesText(count) +
                   ": take out at least one and fewer than all.");
  SplitPieces split;
  split.id = library.nextFreeId(taken);
  split.events.push_back(countEvent(id, count - pieces));
  Event& created = split.events.emplace_back();
  created.set_hold(split.id);
  *created.mutable_created() = partOf(lot, pieces, bin);
  if (currentScan(lot) != nullptr) {
    Event& scanned = split.events.emplace_back();
    scanned.set_hold(split.id);
    *scanned.mutable_scanned() = library.currentFullScan(id);
    *scanned.mutable_words() = lot.words();
  }
  return split;
}

Hold splitLot(Library& library, const std::string& lot, int pieces, const std::string& bin) {
  return changeHold(library, [&] {
    SplitPieces split = splitEvents(library, lot, pieces, bin);
    return HoldChange{std::move(split.id), std::move(split.events)};
  });
}

std::vector<Event> joinEvents(const Library& library, const std::vector<std::string>& all) {
  std::vector<Event> events;
  std::map<std::string, int> counts;  // Of lots that several of the pieces join.
  for (const std::string& id : all) {
    const Hold pieces = library.hold(id);
    if (pieces.split_from().empty())
      throw BadInput(id + " was taken out of no lot: only such pieces go back into one.");
    const Hold lot = library.hold(pieces.split_from());
    if (pieces.status() == RETIRED || pieces.scans_size() > 1)
      throw BadInput(id + (pieces.status() == RETIRED ? " is retired" : " was scanned on its own") +
                     ": it does not go back into " + lot.id() + ".");
    int& count = counts.try_emplace(lot.id(), piecesOf(lot)).first->second;
    events.push_back(countEvent(lot.id(), count += piecesOf(pieces)));
    events.emplace_back().set_hold(id);
    events.back().mutable_moved()->set_status(RETIRED);
    events.emplace_back().set_hold(id);
    events.back().set_noted("Joined its lot " + lot.id() +
                            " again: " + piecesText(piecesOf(pieces)) + ".");
  }
  return events;
}

Hold joinLot(Library& library, const std::string& id) {
  return changeHold(library, [&] {
    HoldChange joined{library.hold(id).split_from(), joinEvents(library, {id})};
    for (const std::string& hold : {id, joined.hold})
      if (library.hold(hold).status() != SHELF)
        throw BadInput(hold + " is not on the shelf: both have to be there to be joined.");
    return joined;
  });
}

bool isUnusedPart(const Library& library, const Hold& pieces) {
  if (pieces.split_from().empty() || pieces.scans_size() > 1 || !library.has(pieces.split_from()))
    return false;
  const Hold lot = library.hold(pieces.split_from());
  if (lot.status() != SHELF || !isWithLot(pieces, lot)) return false;
  const auto history = library.history(pieces.id());
  return std::none_of(history.begin(), history.end(), [](const Event& event) {
    return event.has_moved() && event.moved().status() != CRATE && event.moved().status() != SHELF;
  });
}

}  // namespace holdshelf
