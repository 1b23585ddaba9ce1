// SPDX-License-Identifier: Apache-2.0
#include "catalog/library_store.h"

#include "catalog/library_place.h"

namespace holdshelf {

void refuseWith(const StoreError& error, const std::filesystem::path& place) {
  const std::string sentence =
      "The library " + place.string() + " cannot be used (" + error.what() + "): " +
      (isDatabaseAddress(place)
           ? "check that the server runs and lets this user in (PGPASSWORD, ~/.pgpass)."
           : "check that the disk has room and that you may write there, or run "
             "holdshelf check.");
  if (error.isDamage()) throw StoreDamaged(sentence);
  throw StoreUnavailable(sentence);
}

}  // namespace holdshelf
