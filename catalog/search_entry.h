// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "catalog/library_store.h"
#include "catalog/mounting_row.h"
#include "catalog/search_row.h"
#include "proto/hold.pb.h"

namespace holdshelf {

/// What search knows of one hold.
struct SearchEntry {
  std::string id, name, bin, set, colour;
  Status status = STATUS_UNSPECIFIED;
  SearchRow row;
  MostUse most_use;  ///< Of the row's mountings.
  std::string site;  ///< Where it stands.
};

/// Of a row with its search part. @throws BadInput  That is damaged; the sentence names the hold.
SearchEntry searchEntry(const HoldRow& row);
SearchEntry searchEntry(const Hold& hold);

}  // namespace holdshelf
