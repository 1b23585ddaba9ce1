// SPDX-License-Identifier: Apache-2.0
#include "catalog/climb_conflict.h"

#include <algorithm>
#include <string>
#include <vector>

namespace holdshelf {
namespace {

/// The holds a change is about.
std::vector<std::string> holdsOf(const ClimbChange& change) {
  switch (change.what_case()) {
    case ClimbChange::kAdded:
      return {change.added().hold()};
    case ClimbChange::kDropped:
      return {change.dropped()};
    case ClimbChange::kSwapped:
      return {change.swapped().out(), change.swapped().in().hold()};
    case ClimbChange::kPlaced:
      return {change.placed().hold()};
    case ClimbChange::kBolted:
      return {change.bolted().hold()};
    case ClimbChange::kUsedAs:
      return {change.used_as().hold()};
    case ClimbChange::kDismissed:
      return {change.dismissed().hold()};
    default:
      return {};
  }
}

}  // namespace

bool disturbs(const ClimbChange& meanwhile, const ClimbChange& wanted) {
  if (wanted.has_noted() || meanwhile.has_noted()) return false;
  const auto whole = [](const ClimbChange& change) {
    return change.what_case() == ClimbChange::kOpened ||
           change.what_case() == ClimbChange::kStripped;
  };
  if (whole(meanwhile) || whole(wanted)) return true;
  const auto theirs = holdsOf(meanwhile), ours = holdsOf(wanted);
  return std::any_of(ours.begin(), ours.end(), [&](const std::string& hold) {
    return std::find(theirs.begin(), theirs.end(), hold) != theirs.end();
  });
}

}  // namespace holdshelf
