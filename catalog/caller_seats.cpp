// SPDX-License-Identifier: Apache-2.0
#include "catalog/caller_seats.h"

#include "catalog/own_address.h"

namespace holdshelf {

bool CallerSeats::take(const std::string& address) {
  if (!count_loopback_ && isLoopback(address)) return true;
  const std::lock_guard lock(mutex_);
  std::size_t& open = open_[address];
  if (open == most_) return false;
  ++open;
  return true;
}

void CallerSeats::leave(const std::string& address) {
  const std::lock_guard lock(mutex_);
  const auto found = open_.find(address);
  if (found != open_.end() && --found->second == 0) open_.erase(found);
}

}  // namespace holdshelf
