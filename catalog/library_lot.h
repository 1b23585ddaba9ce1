// SPDX-License-Identifier: Apache-2.0
// Counted lots: some of their pieces go elsewhere and come back, the others stay where they are.
#pragma once
#include <set>
#include <string>
#include <vector>

#include "catalog/library.h"

namespace holdshelf {

/// Takes pieces out of a counted lot, in one commit: they become a hold of their own with the lot's
/// labels, owner and last scan, so that a few of the lot can be on a wall while the others are on
/// the shelf. Pieces of a lent lot are lent, too, each until it is given or called back itself.
/// @return  The new hold, which names the lot in split_from.
/// @throws BadInput  There is no such hold, or it has no more than so many pieces.
Hold splitLot(Library& library, const std::string& lot, int pieces, const std::string& bin = {});

/// Puts such pieces back, in one commit: the lot counts them again, their own record is retired
/// with a note. What it says of days on the wall and wear since then stays in that record.
/// @return  The lot.
/// @throws BadInput  They were taken out of no lot, were scanned on their own, or the two are not
///                   both on the shelf.
Hold joinLot(Library& library, const std::string& pieces);

/// The events of splitting and joining, for changes that do more in the same commit. To be made
/// inside the transaction (Library::commitMade).
struct SplitPieces {
  std::string id;  ///< Of the new hold.
  std::vector<Event> events;
};
/// @param taken  Ids that other events of the commit use already.
SplitPieces splitEvents(const Library& library, const std::string& lot, int pieces,
                        const std::string& bin = {}, const std::set<std::string>& taken = {});
std::vector<Event> joinEvents(const Library& library, const std::vector<std::string>& pieces);
/// Whether pieces are of a lot that is on the shelf of the site where they are, and still are what
/// was taken out of it: never mounted, not scanned on their own, and of the same owner.
bool isUnusedPart(const Library& library, const Hold& pieces);

}  // namespace holdshelf
