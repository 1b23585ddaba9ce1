// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "catalog/labels.h"
#include "catalog/library.h"

namespace holdshelf {

/// Which labels are wanted; with nothing named, one for each hold that is not retired.
struct LabelChoice {
  std::vector<std::string> holds;    ///< By id.
  std::vector<std::string> of_bins;  ///< All holds that belong into these.
  std::vector<std::string> bins;     ///< Labels for the bins themselves.
  bool all_bins = false;
  std::string page;  ///< Where the page is for phones: "http://192.0.2.7:8484/".
};

/// The labels in order of bin and id; those that were named by id in the order named.
/// @throws BadInput  There is no such hold or bin, or more than 3000 labels are wanted.
std::vector<Label> chosenLabels(const Library& library, const LabelChoice& choice);

}  // namespace holdshelf
