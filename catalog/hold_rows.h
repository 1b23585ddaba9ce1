// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <map>
#include <string>
#include <vector>

#include "catalog/library_store.h"
#include "proto/hold.pb.h"

namespace holdshelf {

/// What a store keeps of holds: for each, in the order of their ids, the columns that it is named
/// and listed by, what search reads of it, its marks (search_marks.h), and the hold itself without
/// what takes most room (slimHold()). Owns the bytes that the rows point into.
class HoldRows {
 public:
  /// @param holds  By id.
  explicit HoldRows(const std::map<std::string, Hold>& holds);
  HoldRows(const HoldRows&) = delete;
  HoldRows& operator=(const HoldRows&) = delete;

  /// Without keys: the store gives them.
  const std::vector<HoldRow>& rows() const { return rows_; }

 private:
  struct Kept {
    Hold hold;
    std::string search, body;
  };
  std::vector<Kept> kept_;
  std::vector<HoldRow> rows_;
};

}  // namespace holdshelf
